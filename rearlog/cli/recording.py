"""Writing down: start a cohort, add individuals, log a round, look back, strike out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

import click

from rearlog.cli.completion import entries, species_ids, stages
from rearlog.cli.main import printable
from rearlog.cli.numbers import CELSIUS
from rearlog.cli.options import (
    by_option,
    cohort_argument,
    notice,
    notice_caution,
    notice_doubts,
    on_option,
    quiet_option,
    strict_option,
)
from rearlog.records import times
from rearlog.records.entries import CODE, RESERVED, expand, parse, shortened
from rearlog.records.errors import UsageError
from rearlog.records.fates import FATES, Fate
from rearlog.records.fields import DETAILS, detail_examples
from rearlog.records.log import Cohort, Individual
from rearlog.records.rules import doubts_of
from rearlog.records.wording import counted, day_stamp, line_of, said, stamp
from rearlog.store.cohort_file import NAME, CohortFile
from rearlog.store.recording import RecordedRound, record_round


@click.command("start")
@cohort_argument
@click.option(
    "--species",
    required=True,
    metavar="ID",
    shell_complete=species_ids,
    help="A profile (rearlog species list).",
)
@click.option("--eggs", type=click.IntRange(1, 100_000), help="How many eggs.")
@click.option("--larvae", type=click.IntRange(1, 100_000), help="How many larvae (with --stage).")
@click.option("--stage", shell_complete=stages, help="The stage in which they enter, such as L2.")
@click.option("--codes", default="", metavar="PREFIX", help="A gives A01, A02 …; else 1, 2 …")
@on_option
@click.option("--laid", metavar="DATE", help="The day on which the eggs were laid.")
@click.option("--laid-after", metavar="WHEN", help="They were laid after this …")
@click.option("--laid-by", metavar="WHEN", help="… and no later than this.")
@click.option("--temp", type=CELSIUS, help="Planned °C.")
@click.option("--zone", help="Time zone, such as Europe/London (default: this machine's).")
@click.option("--check-time", default="09:00", help="Where a check without a time stands (HH:MM).")
@click.option("--place", help="Where they are kept.")
@click.option("--food", help="What they eat.")
@quiet_option
def start_command(
    cohort: Path,
    species: str,
    eggs: int | None,
    larvae: int | None,
    stage: str | None,
    codes: str,
    on: str | None,
    laid: str | None,
    laid_after: str | None,
    laid_by: str | None,
    temp: float | None,
    zone: str | None,
    check_time: str,
    place: str | None,
    food: str | None,
) -> None:
    """Start a new cohort: individuals kept together from one day on.

    \b
    rearlog start room --species painted-lady --eggs 24 --laid yesterday
    rearlog start cups --species monarch --larvae 12 --stage L2 --codes M
    """
    from rearlog.species.catalogue import find as find_profile

    if (eggs is None) == (larvae is None):
        raise UsageError("say how many: --eggs N, or --larvae N with --stage")
    if larvae is not None and stage is None:
        raise UsageError("--larvae needs --stage, such as --stage L2")
    if not NAME.fullmatch(cohort.stem):
        raise UsageError(f"“{cohort.stem}” is not a cohort name", "use letters, digits, - and _")
    if codes and not CODE.fullmatch(codes):
        raise UsageError(f"“{codes}” cannot begin a code", "use letters, digits and _")
    profile = find_profile(species)
    zone = times.check_zone(zone or times.local_zone())
    check_time = times.read_clock(check_time)
    now = times.now(zone)
    started = times.read_moment(on or "today", zone, check_time, now)
    if started > now:
        raise UsageError(f"{on} is in the future", "start the cohort on the day it starts")
    entry_stage = profile_stage(profile.codes, stage or profile.codes[0])
    bounds = _laid(laid, laid_after, laid_by, zone, check_time, started)
    if bounds != (None, None) and entry_stage != profile.codes[0]:
        raise UsageError("only eggs have a laying date", "leave out --laid for larvae")
    count = eggs if eggs is not None else larvae
    assert count is not None
    width = max(2, len(str(count))) if codes else 1
    individuals = [
        Individual(f"{codes}{number:0{width}d}", started, entry_stage, *bounds)
        for number in range(1, count + 1)
    ]
    header = Cohort(
        name=cohort.stem,
        species=profile,
        zone=zone,
        started=started,
        created=now,
        check_time=check_time,
        place=place,
        food=food,
        planned_celsius=temp,
    )
    CohortFile(cohort).create(header, individuals)
    notice(
        f"Started {cohort.stem}: {count} × {entry_stage} of {profile.name} "
        f"({profile.scientific_name}), {individuals[0].code} to {individuals[-1].code}, "
        f"on {stamp(started)} {zone}, in {cohort}"
    )


def profile_stage(codes: Sequence[str], stage: str) -> str:
    """The stage code as the profile spells it; raises UsageError where it has none such."""
    for code in codes:
        if code.casefold() == stage.casefold():
            return code
    raise UsageError(f"there is no stage {stage}", f"the stages are {', '.join(codes)}")


def _laid(
    laid: str | None,
    after: str | None,
    by: str | None,
    zone: str,
    check_time: str,
    started: datetime,
) -> tuple[datetime | None, datetime | None]:
    """When the eggs were laid: after the first and no later than the second."""
    if laid is not None:
        if after is not None or by is not None:
            raise UsageError("give --laid, or --laid-after with --laid-by")
        day = times.read_date(laid, started.date())
        low = times.at_clock(day, "00:00", zone)
        high = min(times.at_clock(day + timedelta(days=1), "00:00", zone), started)
    elif after is None and by is None:
        return None, None
    elif after is None or by is None:
        raise UsageError("--laid-after and --laid-by go together")
    else:
        low = times.read_moment(after, zone, check_time, started)
        high = times.read_moment(by, zone, check_time, started)
    if low > high:
        raise UsageError(
            "the eggs would be laid after the cohort started, or the dates are swapped"
        )
    if high > started:
        raise UsageError("the eggs cannot be laid after the cohort started")
    return low, high


@click.command("add")
@cohort_argument
@click.argument("codes", nargs=-1, required=True, metavar="CODE...")
@click.option(
    "--stage", shell_complete=stages, help="The stage in which they enter (default: the first)."
)
@on_option
@click.option("--container", help="The cup, box or cage.")
@click.option("--clutch", help="The batch of eggs they come from.")
@click.option("--note", help="Anything else.")
@quiet_option
def add_command(
    cohort: Path,
    codes: tuple[str, ...],
    stage: str | None,
    on: str | None,
    container: str | None,
    clutch: str | None,
    note: str | None,
) -> None:
    """Add individuals by their codes; ranges such as 25-30 count through.

    \b
    rearlog add room 25-30 --on 2026-03-10
    rearlog add room B01-B04 --stage L1 --container "tray 2"
    """
    file = CohortFile(cohort)
    header = file.outline(()).cohort
    now = times.now(header.zone)
    entered = times.read_moment(on or "today", header.zone, header.check_time, now)
    if entered > now:
        raise UsageError(f"{on} is in the future")
    if entered < header.started:
        raise UsageError(f"the cohort started only at {stamp(header.started)}")
    entry_stage = profile_stage(header.species.codes, stage or header.species.codes[0])
    named = expand(",".join(codes))
    wrong = [code for code in named if not CODE.fullmatch(code) or code.lower() in RESERVED]
    if wrong:
        raise UsageError(
            f"“{shortened(wrong[0])}” cannot be a code", "use up to 24 letters, digits and _"
        )
    file.add_individuals(
        [
            Individual(code, entered, entry_stage, container=container, clutch=clutch, note=note)
            for code in named
        ]
    )
    shown = ", ".join(named[:50]) + (" …" if len(named) > 50 else "")
    notice(f"Added {len(named)} × {entry_stage}: {shown}")


_DETAILS = ", ".join(
    f"{example} ({each.unit})" if each.unit else example
    for example, each in zip(detail_examples().split(), DETAILS.values(), strict=True)
)
_LOG_HELP = f"""Record a round of checks in the compact notation, WHO STATE [DETAIL…] ["note"].

WHO: 3, 1-12, A01-A12,A15, all, or rest (every living one not named). STATE: a stage, same,
{", ".join(FATES[:-1])} or {FATES[-1]}. DETAIL: {_DETAILS}.

Understood too: died, escaped, released, hatched, pupated, emerged, no change, L 2, 1 to 5.

\b
rearlog log room '1-9 L3; 10 L2 head=0.61; 11 dead(mould) "wet"; rest same'
rearlog log room 'all same' --on yesterday --by KT
"""


@click.command("log", help=_LOG_HELP)
@cohort_argument
@click.argument("entry", nargs=-1, required=True, metavar="ENTRY...", shell_complete=entries)
@on_option
@by_option
@click.option("--dry-run", is_flag=True, help="Show what would be recorded, and record nothing.")
@strict_option
@quiet_option
def log_command(
    cohort: Path,
    entry: tuple[str, ...],
    on: str | None,
    by: str | None,
    dry_run: bool,
    strict: bool,
) -> None:
    """Record a round."""
    now = times.now("UTC")
    round_ = record_round(
        CohortFile(cohort), parse(" ".join(entry)), on, by, now, dry_run=dry_run, strict=strict
    )
    profile, before = round_.cohort.species, round_.before
    for each in round_.checks:
        for doubt in doubts_of(profile, each, each.stage or before[each.individual].stage):
            notice(f"Note: {doubt}")
    notice_doubts(round_.doubts)
    _notice_passed(round_.passed)
    if dry_run:
        for each in round_.checks:
            click.echo(printable(line_of(each)))
        told = counted(len(round_.checks), "check")
        notice(f"Nothing recorded: {told} at {day_stamp(round_.at)} would be.")
        return
    notice(_summary(round_))
    if any(each.fate == Fate.DEAD and each.note and not each.cause for each in round_.checks):
        notice("Note: a cause counts only in brackets, as in dead(mould), not in a note")
    notice_caution(round_.checks)


def _notice_passed(passed: Sequence[str]) -> None:
    if passed:
        notice(f"Passed over inside ranges, dead, lost or removed before: {', '.join(passed)}")


def _summary(round_: RecordedRound) -> str:
    changed = [
        f"{each.individual} {said(each)}"
        for each in round_.checks
        if each.fate or each.stage not in (None, round_.before[each.individual].stage)
    ]
    shown = ", ".join(changed[:12]) + (" …" if len(changed) > 12 else "")
    left = set(round_.alive) - {each.individual for each in round_.checks}
    checks = counted(len(round_.checks), "check")
    text = f"Recorded {checks} at {day_stamp(round_.at)}: {len(changed)} changed"
    text += f" ({shown})" if changed else ""
    return text + (f"; {len(left)} of those alive were not named" if left else "")
