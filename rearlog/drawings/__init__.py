"""Line drawings of stages, made from the numbers of a profile: shapes in millimetres, no words.

`rearlog.drawings.stages` draws a stage; `present` writes the shapes as SVG, `exchange` prints them.
"""
