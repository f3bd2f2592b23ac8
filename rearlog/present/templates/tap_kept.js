"use strict";
// What the page was written with, and what the browser keeps: the round of each page of a cohort, and
// the initials of who looked. No syntax in these scripts is younger than 2018: school tablets are old.

const byId = (id) => document.getElementById(id);
const page = JSON.parse(byId("round").textContent);
const stages = new Map(page.stages.map((stage) => [stage.code, stage]));

const PREFIX = `rearlog-tap/${page.cohort}/`;
const KEY = PREFIX + page.written;
const INITIALS = "rearlog-tap/initials";
const FORGOTTEN_AFTER = 30 * 24 * 3600 * 1000;
const NOTHING = { rows: [], undone: [], past: [], saved: "", stale: false };
let storing = true; // whether what was written last was kept

function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch (error) {
    return null;
  }
}

function write(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
    storing = true;
  } catch (error) {
    storing = false;
  }
}

// Four letters by which the files of this device are told from those of another.
const DEVICE = read("rearlog-tap/device") || Math.random().toString(36).slice(2, 6).padEnd(4, "0");
write("rearlog-tap/device", DEVICE);

const isSaved = (kept) => kept.saved !== "" && !kept.stale;

// What other pages of this cohort have kept, by key; old ones with nothing unsaved are forgotten.
function otherPages() {
  if (!storing) return [];
  const keys = Object.keys(localStorage).filter((key) => key.startsWith(PREFIX) && key !== KEY);
  const pages = keys.map((key) => [key, read(key)]).filter(([, kept]) => kept !== null);
  const age = (key) => Date.now() - Date.parse(key.slice(PREFIX.length));
  const done = ([key, kept]) => (!kept.rows.length || isSaved(kept)) && age(key) > FORGOTTEN_AFTER;
  pages.filter(done).forEach(([key]) => localStorage.removeItem(key));
  return pages.filter((each) => !done(each));
}

// The rounds of this page that are over, and those of other pages, the latest first. Each has its
// rows, when it was saved, and what is to be done once it is saved (again).
function earlierRounds(past) {
  const over = (rounds) => rounds.map((round) => ({ ...round, wasSaved() {} }));
  const others = otherPages().map(([key, kept]) => {
    const wasSaved = () => write(key, { ...kept, saved: now(), stale: false });
    const going = { rows: kept.rows, saved: isSaved(kept) ? kept.saved : "", wasSaved };
    return [...over(kept.past), ...(kept.rows.length ? [going] : [])];
  });
  const begun = (round) => Date.parse(round.rows[0].at);
  return over(past).concat(...others).sort((one, other) => begun(other) - begun(one));
}
