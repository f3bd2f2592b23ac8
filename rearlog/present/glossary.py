"""The trade's words in one line each, as the page has them; `explain` tells more of each."""

from __future__ import annotations

from rearlog.sentences.meanings.every import WORDS

GLOSSARY = {
    heading: "; ".join(each.says for each in WORDS if each.glossary == heading)
    for heading in dict.fromkeys(each.glossary for each in WORDS if each.glossary)
}
