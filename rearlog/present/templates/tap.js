// The round: what is tapped is at once a row of the file, and at once kept in this browser.

let cards = []; // of those who live
let past = []; // the rounds of this page that are over
let saved = ""; // when this round was saved
let stale = false; // whether it was changed since then
let place = -1; // the card that was touched last
let unsavedBefore = false;

const rowsOf = () => cards.filter((card) => card.row).map((card) => card.row);
const initials = () => byId("by").value.trim();

function begin(kept) {
  ({ past, saved, stale } = kept);
  const all = new Map(page.cards.map((card) => [card.individual, { ...card, row: null, undone: null }]));
  past.forEach((round) => round.rows.forEach((row) => seenBefore(all.get(row.individual), row)));
  kept.rows.forEach((row) => (all.get(row.individual).row = row));
  kept.undone.forEach((row) => (all.get(row.individual).undone = row));
  cards = [...all.values()].filter((card) => !card.gone);
  place = -1;
  fill(byId("cards"), cards.map(build));
  tell();
}

function seenBefore(card, row) {
  card.note = row.note;
  card.gone = row.fate !== "";
  if (row.stage && row.stage !== card.stage) [card.stage, card.since, card.unlooked] = [row.stage, day(row.at), 0];
}

function keep() {
  const undone = cards.filter((card) => card.undone).map((card) => card.undone);
  write(KEY, { rows: rowsOf(), undone, past, saved, stale });
}

function see(card, stage, fate) {
  const before = card.row || Object.fromEntries(COLUMNS.map((name) => [name, ""]));
  if (before.stage === stage && before.fate === fate) return;
  const { individual } = card;
  const same = !fate && stage === card.stage ? "yes" : "";
  card.row = { ...before, individual, at: now(), stage, same, fate, cause: "", witnessed: "", by: initials() };
  if (!isAdult(card)) [...Object.keys(COUNTS), "mate"].forEach((name) => (card.row[name] = ""));
  card.undone = null;
  changed(card);
  show(card);
}

function undo(card) {
  [card.row, card.undone] = [card.undone, card.row];
  changed(card);
  show(card);
}

function changed(card) {
  stale = saved !== "";
  place = cards.indexOf(card);
  keep();
  update(card);
  tell();
}

// ---- what is told of the round as a whole

function tell() {
  const rows = rowsOf();
  const left = cards.length - rows.length;
  say(byId("count"), left ? `${rows.length} looked at, ${left} left` : `All ${cards.length} looked at`);
  byId("bar").style.width = `${(100 * rows.length) / Math.max(1, cards.length)}%`;
  say(byId("next"), left ? "Next one" : "To saving");
  say(byId("saving"), onSaving(rows.length, left));
  fill(byId("problems"), []);
  byId("save").disabled = !rows.length;
  byId("new").hidden = !isSaved({ saved, stale });
  if (byId("text").open) byId("csv").value = csv(rows);
  const notices = noticesOf(rows).map((text) => `Mind: ${text}`).join("\n");
  say(byId("notices"), notices);
  byId("notices").hidden = notices === "";
}

function onSaving(checks, left) {
  const name = saved && fileName(page.cohort, saved);
  if (!checks) return "Nothing is tapped yet.";
  if (!saved) return `${checks} checks, not saved yet.${left ? ` The ${left} not looked at will not be in the file.` : ""}`;
  if (!stale) return `${checks} checks were saved at ${clock(saved)}: look for ${name} among the downloads. This takes them into the log: rearlog import ${page.cohort} ${name}`;
  return `Changed since it was saved at ${clock(saved)}: save it again. If ${name} is in the log already, strike out there what it had wrong.`;
}

function noticesOf(rows) {
  const [today, written] = [day(now()), day(stamp(new Date(page.written)))];
  const begun = rows.map((row) => row.at).sort()[0] || now();
  const found = [];
  if (!storing) found.push("this browser keeps nothing. Save the round before you close the page.");
  if (today !== written) found.push(`this page was written on ${written}, and this device says that today is ${today}. What came into the log since then is not on it.`);
  else if (Date.now() < Date.parse(page.written)) found.push("this device’s clock is behind: it shows a time before the page was written.");
  if (day(begun) !== today && !isSaved({ saved, stale })) found.push(`this round was begun on ${day(begun)}. Save it, then start a new one.`);
  if (unsavedBefore) found.push("a round tapped on an older page was never saved. It is under “Earlier rounds”, at the end of this page.");
  return found;
}

function listEarlier() {
  const rounds = earlierRounds(past);
  unsavedBefore = rounds.some((round) => !round.saved);
  byId("earlier").hidden = !rounds.length;
  const lines = rounds.map(({ rows, saved: when, wasSaved }) => {
    const name = `${day(rows[0].at)} ${clock(rows[0].at)}`;
    const again = button(when ? "Save again" : "Save", `${when ? "Save again" : "Save"}: round of ${name}`, () => {
      download(rows, fileName(page.cohort, rows[0].at));
      wasSaved();
      listEarlier();
    });
    return element("li", {}, `${name}, ${rows.length} checks, ${when ? "saved" : "not saved"} `, again);
  });
  fill(byId("rounds"), lines);
  tell();
}

// ---- saving

// Whether the round can go into a file; otherwise its mistakes are listed, each with a way to it.
function isRight() {
  const wrong = [];
  for (const card of cards.filter((each) => each.row)) {
    for (const [name, [word]] of Object.entries({ ...MEASURES, ...COUNTS, mate: ["mate or cage"] })) {
      const what = mistake(name, card.row[name] || "");
      const text = `${card.individual}: ${word} “${card.row[name]}” ${what}`;
      const go = () => (unfold(card, true), byId(`${card.id}-${name}`).focus());
      if (what) wrong.push(element("li", {}, button(text, text, go)));
    }
  }
  fill(byId("problems"), wrong);
  return !wrong.length;
}

function wasSaved() {
  [saved, stale] = [now(), false];
  keep();
  tell();
}

byId("next").onclick = () => {
  const next = [...cards.slice(place + 1), ...cards.slice(0, place + 1)].find((card) => !card.row);
  if (!next) return byId("finish").focus();
  place = cards.indexOf(next);
  next.article.scrollIntoView({ block: "center" });
  next.same.focus({ preventScroll: true });
};
byId("save").onclick = () => {
  if (!isRight()) return;
  wasSaved();
  download(rowsOf(), fileName(page.cohort, saved));
};
byId("new").onclick = () => {
  begin({ ...NOTHING, past: [...past, { rows: rowsOf(), saved }] });
  keep();
  listEarlier();
  byId("cards").focus();
};
byId("text").ontoggle = tell;
byId("copy").onclick = () => {
  if (!isRight()) return;
  byId("csv").select();
  say(byId("copied"), document.execCommand("copy") ? "Copied." : "Mark the text above and copy it.");
};
byId("csv").addEventListener("copy", wasSaved);
byId("by").onchange = () => {
  write(INITIALS, initials());
  for (const card of cards.filter((each) => each.row && !each.row.by)) {
    card.row.by = initials();
    changed(card);
  }
};
document.addEventListener("visibilitychange", () => {
  cards.forEach(update);
  tell();
});
window.addEventListener("storage", (event) => {
  if (event.key === KEY) begin(read(KEY) || NOTHING);
});
window.addEventListener("beforeunload", (event) => {
  if (storing || !rowsOf().length || isSaved({ saved, stale })) return;
  event.preventDefault();
  event.returnValue = ""; // what older browsers ask for
});

byId("by").value = read(INITIALS) || "";
begin(read(KEY) || NOTHING);
keep();
listEarlier();
