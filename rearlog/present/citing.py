"""How a data set, or the program itself, is cited, for bibliographies and as a file beside data.

BibTeX as biblatex has it, whose types know data sets and software; the Citation File Format 1.2.0.
"""

from __future__ import annotations

import json

from rearlog.exchange.citation import Cited
from rearlog.present.latex import bibtex_entry, escaped


def bibtex(cited: Cited) -> str:
    """An entry for a bibliography."""
    fields = {
        "author": _named(cited),
        "title": f"{{{escaped(cited.title)}}}",
        "year": str(cited.year),
        "version": cited.version,
        "organization": cited.person and cited.organisation and escaped(cited.organisation),
        "note": cited.identifier,
    }
    return bibtex_entry(cited.kind, cited.key, fields)


def cff(cited: Cited) -> str:
    """A CITATION.cff. It is YAML, in which each text is written as JSON writes it."""
    known: dict[str, object] = {
        "cff-version": "1.2.0",
        "message": "Please cite it as follows.",
        "type": cited.kind,
        "title": cited.title,
        "authors": [_author(cited)],
        "date-released": cited.released and cited.released.isoformat(),
        "version": cited.version,
        "license": cited.licence and cited.licence.id,
        "identifiers": cited.identifier and [{"type": "other", "value": cited.identifier}],
    }
    return "".join(
        f"{name}: {json.dumps(value, ensure_ascii=False)}\n"
        for name, value in known.items()
        if value
    )


def _named(cited: Cited) -> str:
    """The author; what is in braces is taken as it stands, be there an “and” in it."""
    whole = f"{{{escaped(cited.family or cited.author)}}}"
    return f"{whole}, {escaped(cited.given)}" if cited.given else whole


def _author(cited: Cited) -> dict[str, str]:
    if cited.family is None:
        return {"name": cited.author}
    found = {"family-names": cited.family}
    if cited.given:
        found["given-names"] = cited.given
    if cited.organisation:
        found["affiliation"] = cited.organisation
    if cited.orcid:
        found["orcid"] = f"https://orcid.org/{cited.orcid}"
    return found
