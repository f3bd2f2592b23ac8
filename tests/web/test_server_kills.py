"""Nothing is lost between a finger and the disk: thirty devices, and a server that is killed.

`REARLOG_SERVER_KILLS` says how often.
"""

from __future__ import annotations

import os
import random
import re
import threading
import time
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rearlog.records.log import Cohort, Individual
from rearlog.species.catalogue import find
from rearlog.store.cohort_file import CohortFile
from rearlog.store.verification import verify
from tests.web.killed_server import Device, Servers

KILLS = int(os.environ.get("REARLOG_SERVER_KILLS", "40"))
SEED = 20260309
DEVICES = 30
AT_ONCE = 12
"""So many devices tap between two kills, one to three times."""
COHORTS = ("cool", "room", "warm")
INDIVIDUALS = tuple(f"A{number:02d}" for number in range(1, 31))


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="asks /proc for processes")
def test_nothing_acknowledged_is_lost_and_nothing_kept_is_doubled(tmp_path: Path) -> None:
    base = datetime.now(UTC).replace(microsecond=0) - timedelta(minutes=1)
    began = base - timedelta(days=30)
    files = {name: CohortFile(tmp_path / f"{name}.json") for name in COHORTS}
    for name, file in files.items():
        individuals = [Individual(each, began, "L3") for each in INDIVIDUALS]
        file.create(Cohort(name, find("painted-lady"), "UTC", began, began), individuals)
    chance = random.Random(SEED)
    servers = Servers(tmp_path)
    ended = threading.Event()
    devices = [
        Device(number, servers, SEED, COHORTS, INDIVIDUALS, base) for number in range(DEVICES)
    ]
    try:
        servers.start()
        threads = [threading.Thread(target=each.runs, args=[ended]) for each in devices]
        for thread in threads:
            thread.start()
        for _ in range(KILLS):
            for each in chance.sample(devices, AT_ONCE):
                each.asked.put(chance.randint(1, 3))
            time.sleep(chance.expovariate(1 / 0.12))
            servers.kill()
            time.sleep(chance.uniform(0.0, 0.05))
            servers.start()
        for each in devices:  # whoever has nothing to send proves that the way is free
            each.asked.put(1)
        ended.set()
        for thread in threads:
            thread.join(120)
        assert not any(thread.is_alive() for thread in threads)
    finally:
        for each in devices:
            each.halted = True
        servers.close()

    assert [told for each in devices for told in each.refused] == []
    logs = {name: file.read() for name, file in files.items()}
    written = {
        (name, each.token): each for name, log in logs.items() for each in log.all_observations
    }
    times_written = Counter(each.token for log in logs.values() for each in log.all_observations)
    made = {(name, look["token"]) for each in devices for name, look in each.made}
    assert set(written) == made
    assert set(times_written.values()) == {1}
    for device in devices:
        assert device.outbox == []
        assert set(device.acknowledged) == {look["token"] for _, look in device.made}
        for name, look in device.made:
            record = written[name, look["token"]]
            assert record.number == device.acknowledged[look["token"]]
            assert (record.individual, record.by) == (look["individual"], device.initials)
            assert (record.struck is not None) == (look["token"] in device.undone)
    for name, file in files.items():
        found = verify(file.path, datetime.now(UTC), lambda _profile, _place: [])
        assert (found.sound, found.intact, found.problems) == (True, True, ()), name
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {".rearlog", *(f"{name}.json" for name in COHORTS)}
    usual = re.compile(rf"({'|'.join(COHORTS)})\.json\.(lock|[1-9]\d*)|server")
    strange = [
        each.name for each in (tmp_path / ".rearlog").iterdir() if not usual.fullmatch(each.name)
    ]
    assert strange == []
    broken = sum(each.unanswered for each in devices)
    print(
        f"\n{KILLS} kills, {len(made)} looks of {DEVICES} devices, {broken} requests without an "
        f"answer, {sum(each.joined for each in devices)} times joined again"
    )
