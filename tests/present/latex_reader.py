"""A reader of the little LaTeX that tables are written in; it refuses what else would be obeyed."""

import re


def set_by_latex(text: str) -> str:
    """What LaTeX would print of escaped text, by a reader of the few commands that there may be;
    whatever else would be obeyed is refused."""
    signs = {r"\textbackslash": "\\", r"\textasciicircum": "^", r"\textasciitilde": "~",
             r"\textless": "<", r"\textgreater": ">", r"\textbar": "|",
             r"\textasciigrave": "`", r"\textquotesingle": "'", r"\dag": "†", r"\ddag": "‡",
             r"\S": "§", r"\P": "¶", r"\ldots": "…", r"\pm": "±", r"\circ": "°",
             r"\times": "×", r"\cdot": "·"}  # fmt: skip
    found, place, depth, math = "", 0, 0, False
    while place < len(text):
        sign = text[place]
        if sign == "\\":
            command = re.match(r"\\(?:[a-zA-Z]+|.)", text[place:])
            assert command is not None
            place += len(command[0])
            if command[0][1:] in tuple("{}$&#%_"):
                found += command[0][1]
            elif command[0] == r"\symbol":
                assert text[place : place + 4] == "{34}"
                place += 4
                found += '"'
            elif command[0] in (r"\textsuperscript", r"\emph"):
                assert text[place] == "{"
            else:
                found += signs[command[0]]
                if command[0][1:].isalpha() and not math:
                    assert text[place : place + 2] == "{}", text
                    place += 2
                elif math and text[place] == " ":
                    place += 1
            continue
        assert sign not in "&#%_~", text
        assert sign != "^" or math, text
        if sign == "$":
            math = not math
        elif sign in "{}":
            depth += 1 if sign == "{" else -1
            assert depth >= 0
        elif sign == "^":
            pass
        elif math and sign == "-":
            found += "−"
        elif not math and text[place : place + 2] == "--":
            found += "–"
            place += 1
        else:
            found += {"`": "‘", "'": "’"}.get(sign, sign)
        place += 1
    assert depth == 0
    assert not math
    return found
