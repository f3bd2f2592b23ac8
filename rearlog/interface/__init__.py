"""The log from Python: what `import rearlog` offers, loaded when the first of it is asked for."""
