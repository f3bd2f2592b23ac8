"""How data sets and the program are cited: lines written out by hand."""

import json
from datetime import date
from typing import Any

from msgspec.structs import replace

from rearlog import __version__
from rearlog.exchange.citation import data_set, program
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.present.citing import bibtex, cff
from rearlog.settings.file import Publisher
from tests.open_data import north, south

KNOWN = Publisher("K. T.", "kt@school.example", "Fernhill School", "0000-0002-1825-0097")
ON = date(2026, 6, 1)


def published(**terms: Any) -> Publication:
    return Publication((north(), south()), "Moths & more", **terms)


def test_an_entry_for_a_bibliography() -> None:
    publication = published(publisher=KNOWN, on=ON)
    assert bibtex(data_set(publication)) == (
        "@dataset{rearlog-north-south-2026,\n"
        "  author = {{T.}, K.},\n"
        "  title = {{Moths \\& more (invented)}},\n"
        "  year = {2026},\n"
        "  organization = {Fernhill School},\n"
        f"  note = {{urn:uuid:{publication.id}}},\n"
        "}\n"
    )
    odd = replace(data_set(publication), title="50% {a} _b_ C:\\x ~^ #1 $", organisation=None)
    escaped = r"50\% \{a\} \_b\_ C:\textbackslash{}x \textasciitilde{}\textasciicircum{} \#1 \$"
    assert f"title = {{{{{escaped}}}}}," in bibtex(odd)
    assert "organization" not in bibtex(odd)


def test_the_program_is_cited_too() -> None:
    assert bibtex(program()) == (
        "@software{rearlog,\n"
        "  author = {{the rearlog developers}},\n"
        "  title = {{rearlog: the log and the arithmetic for raising insects from the egg}},\n"
        "  year = {2026},\n"
        f"  version = {{{__version__}}},\n"
        "}\n"
    )
    assert cff(program()).splitlines() == [
        'cff-version: "1.2.0"',
        'message: "Please cite it as follows."',
        'type: "software"',
        'title: "rearlog: the log and the arithmetic for raising insects from the egg"',
        'authors: [{"name": "the rearlog developers"}]',
        f'version: "{__version__}"',
    ]


def test_a_citation_file_of_a_data_set() -> None:
    publication = published(publisher=KNOWN, on=ON, licence=LICENCES["CC0-1.0"])
    told = dict(line.split(": ", 1) for line in cff(data_set(publication)).splitlines())
    found = {name: json.loads(value) for name, value in told.items()}
    # the keys of the Citation File Format 1.2.0 (from memory)
    assert found == {
        "cff-version": "1.2.0",
        "message": "Please cite it as follows.",
        "type": "dataset",
        "title": "Moths & more (invented)",
        "authors": [
            {
                "family-names": "T.",
                "given-names": "K.",
                "affiliation": "Fernhill School",
                "orcid": "https://orcid.org/0000-0002-1825-0097",
            }
        ],
        "date-released": "2026-06-01",
        "license": "CC0-1.0",
        "identifiers": [{"type": "other", "value": f"urn:uuid:{publication.id}"}],
    }


def test_a_name_that_cannot_be_parted_stays_whole() -> None:
    school = Publisher("K. T. & M. B.", organisation="A school & more")
    both = data_set(published(publisher=school))
    assert "  organization = {A school \\& more},\n" in bibtex(both)
    assert "  author = {{K. T. \\& M. B.}},\n" in bibtex(both)
    assert '"family-names": "K. T. & M. B.", "affiliation": "A school & more"' in cff(both)
    alone = data_set(published(publisher=Publisher(organisation="A school of K. T.")))
    assert "  author = {{A school of K. T.}},\n" in bibtex(alone)
    assert "organization" not in bibtex(alone)
    assert 'authors: [{"name": "A school of K. T."}]' in cff(alone)
