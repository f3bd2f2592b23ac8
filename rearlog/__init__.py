"""The log and the arithmetic for raising insects from the egg."""

__version__ = "0.1.0"
