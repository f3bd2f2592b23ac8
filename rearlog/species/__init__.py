"""Species profiles: the bundled ones, and the reading and checking of profile files.

A profile file is TOML, laid out as the structs of `rearlog.records.profile` are:

    id = "my-moth"
    name = "my moth"
    scientific_name = "Genus species"
    lower = { value = 9.5, source = "notebook" }

    [sources.notebook]
    kind = "own"                # published, common practice, from memory, derived, own
    citation = "My own rearings, 2025: 40 larvae at 21 °C."

    [[stages]]
    code = "egg"                # egg, L1, L2 … or N1, N2 …, prepupa, pupa, adult
    days = { low = 4, high = 6, at_celsius = [20, 22], source = "notebook" }
    form = { shape = "barrel", marks = ["ribs"], source = "notebook" }    # for drawings

    [[stages]]
    code = "L1-L5"              # five stages that are known to be alike
    head_width_mm = …

Every value names its source. The words of a form are those of `rearlog.records.forms`. `name` of a
stage may be left out where it is the usual one.
"""
