"""An invented profile file that is sound, whole and in parts."""

HEAD = """
id = "test-moth"
name = "test moth"
scientific_name = "Exemplum inventum"
"""
LOWER = 'lower = { value = 10, source = "own" }\n'
OWN = """
[sources.own]
kind = "own"
citation = "An invented notebook."
"""
STAGES = """
[[stages]]
code = "egg"
days = { low = 3, high = 5, at_celsius = [20, 24], source = "own" }
[[stages]]
code = "L1"
head_width_mm = { value = 0.5, sd = 0.04, source = "own" }
[[stages]]
code = "L2"
head_width_mm = { value = 0.8, source = "own" }
[[stages]]
code = "adult"
"""
SOUND = HEAD + LOWER + OWN + STAGES
