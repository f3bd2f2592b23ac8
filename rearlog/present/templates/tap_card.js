// A card: one individual, its last stage, what was tapped, and a panel to say more.

function element(tag, properties, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name in made) made[name] = value;
    else made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}

function fill(parent, children) {
  parent.textContent = "";
  parent.append(...children);
}

// Live regions speak when they are written to: only where there is something new.
function say(where, text) {
  if (where.textContent !== text) where.textContent = text;
}

function button(text, label, onclick) {
  return element("button", { type: "button", textContent: text, "aria-label": label, onclick });
}

function group(title, ...buttons) {
  const words = element("span", { className: "title", textContent: title });
  return element("div", { className: "buttons", role: "group", "aria-label": title }, words, ...buttons);
}

const hint = (text) => element("p", { className: "hint", textContent: text });
const unchanged = (card) => !card.row.fate && card.row.stage === card.stage;

function build(card, number) {
  const code = card.individual;
  const about = [card.kept || card.container, card.note ? `last note: “${card.note}”` : ""].filter(Boolean).join(" · ");
  card.id = `card-${number}`;
  card.last = element("span", { className: "last" });
  card.seen = element("p", { className: "seen" });
  card.undoing = button("Undo", "", () => undo(card));
  card.same = button("No change", `${code}: No change`, () => see(card, card.stage, ""));
  card.more = button("Change, note", `${code}: Change, note`, () => unfold(card, card.panel.hidden));
  card.more.className = "more";
  card.more.setAttribute("aria-controls", `${card.id}-panel`);
  card.panel = element("div", { className: "panel", id: `${card.id}-panel` });
  card.article = element(
    "article",
    { "aria-labelledby": card.id },
    element("div", { className: "head" }, element("h2", { id: card.id, textContent: code }), card.last, card.undoing),
    ...(about ? [element("p", { className: "about", textContent: about })] : []),
    card.seen,
    element("div", { className: "buttons" }, card.same, card.more),
    card.panel
  );
  unfold(card, false);
  update(card);
  return card.article;
}

// For how many days it has been in its stage, as far as looks tell.
function inStage(days, unlooked) {
  if (unlooked) return `${days} to ${days + unlooked} days (nobody looked)`;
  return `${days} day${days === 1 ? "" : "s"}`;
}

function update(card) {
  const { row } = card;
  const days = Math.max(0, Math.round((Date.parse(day(now())) - Date.parse(card.since)) / 86400000));
  say(card.last, `${card.stage}, ${inStage(days, card.unlooked)}`);
  say(card.seen, row ? told(card) : "not looked at yet");
  card.article.className = `card ${row ? (unchanged(card) ? "same" : row.fate ? "ended" : "other") : "open"}`;
  card.same.setAttribute("aria-pressed", row !== null && unchanged(card));
  card.undoing.textContent = row || !card.undone ? "Undo" : "Put back";
  card.undoing.setAttribute("aria-label", `${card.individual}: ${card.undoing.textContent}`);
  card.undoing.hidden = !row && !card.undone;
  if (row) card.refresh.forEach((again) => again());
}

function told(card) {
  const { row } = card;
  const fate = row.fate && `✕ ${row.fate}${row.cause && ` (${row.cause})`}`;
  const state = fate || (unchanged(card) ? "✓ no change" : `→ ${row.stage}`);
  const measures = Object.entries(MEASURES).map(([name, [word, unit]]) => row[name] && `${word} ${row[name]} ${unit}`);
  const counts = Object.entries(COUNTS).map(([name, [word]]) => row[name] && `${word}: ${row[name]}`);
  const mate = row.mate && `with, or in: ${row.mate}`;
  const sex = { f: "female", m: "male", "": "" }[row.sex];
  const note = row.note && `“${row.note}”`;
  return [state, clock(row.at), row.witnessed && "seen happening", ...measures, ...counts, sex, mate, note].filter(Boolean).join(" · ");
}

// ---- the panel: what it may be now, and the details of what was tapped

function unfold(card, shown) {
  card.panel.hidden = !shown;
  card.more.setAttribute("aria-expanded", shown);
  show(card);
}

function show(card) {
  card.refresh = [];
  if (card.panel.hidden) return;
  const { row, individual: code } = card;
  const { offered, later, earlier } = stages.get(card.stage);
  const others = [...later, ...earlier];
  const rest = element("div", { className: "buttons", hidden: !row || !others.includes(row.stage) });
  rest.append(...later.map((stage) => state(card, stage, "")));
  if (earlier.length) rest.append(hint(`Earlier than ${card.stage}? Then one of the two entries is wrong: both are kept, and the log says that they are in doubt.`));
  rest.append(...earlier.map((stage) => state(card, stage, "")));
  const moreStages = button("More …", `${code}: More stages`, () => {
    [rest.hidden, moreStages.hidden] = [false, true];
    (rest.querySelector("button") || card.more).focus();
  });
  moreStages.hidden = !rest.hidden;
  fill(card.panel, [
    group("Now it is", ...offered.map((stage) => state(card, stage, "")), moreStages),
    rest,
    group("Or it is", ...Object.keys(page.causes).map((fate) => state(card, "", fate))),
    ...(row ? details(card) : [hint("Tap what you saw; then a note and measures can be added here.")]),
    button("Done", `${code}: Done`, () => (unfold(card, false), card.more.focus())),
  ]);
}

function state(card, stage, fate) {
  const word = fate || stage;
  const doubtful = stages.get(card.stage).earlier.includes(stage);
  const made = button(word, `${card.individual}: ${word}`, () => {
    if (doubtful && !window.confirm(`${card.individual} was ${card.stage} before. Sure that it is ${stage}?`)) return;
    see(card, stage, fate);
    unfold(card, fate !== ""); // a fate has a cause to be asked for
    (fate ? card.panel.querySelector(`[data-fate=${fate}]`) : card.more).focus();
  });
  made.dataset.fate = fate;
  made.setAttribute("aria-pressed", card.row !== null && card.row.fate === fate && card.row.stage === stage);
  return made;
}

function details(card) {
  const { row } = card;
  const made = [];
  if (row.fate) {
    const today = rowsOf().filter((each) => each.fate === row.fate && each !== row).map((each) => each.cause);
    const usual = [...new Set([...page.causes[row.fate], ...today])].filter(Boolean);
    if (usual.length) made.push(choice(card, "cause", "Because of", usual.map((cause) => [cause, cause])));
    made.push(field(card, "cause", "Cause", "input"));
  }
  if (row.fate === "removed") made.push(hint(page.release));
  const happened = row.fate || stages.get(card.stage).direct.includes(row.stage);
  if (happened) made.push(choice(card, "witnessed", "Seen", [["yes", "I saw it happen"]]));
  const measures = Object.entries(MEASURES).map(([name, [word, unit]]) => field(card, name, `${word} (${unit})`, "input"));
  made.push(element("div", { className: "measures" }, ...measures));
  made.push(choice(card, "sex", "Sex", [["f", "female"], ["m", "male"]]));
  if (isAdult(card)) made.push(...ofAdults(card));
  return [...made, field(card, "note", "Note", "textarea")];
}

const isAdult = (card) => page.adults.includes(card.row.stage || card.stage);

// Eggs of what is no known male, and with whom it is kept from now on.
function ofAdults(card) {
  const counts = card.male ? [] : Object.entries(COUNTS).map(([name, [word]]) => field(card, name, word, "input"));
  const all = card.cage && !card.male ? [hint(`Eggs are those of all in ${card.cage}: tell them at one of its cards.`)] : [];
  return [element("div", { className: "measures" }, ...counts, field(card, "mate", "mate or cage, from now on", "input")), ...all];
}

// Buttons of which one is pressed, or none.
function choice(card, name, title, options) {
  const set = (value) => {
    card.row[name] = card.row[name] === value ? "" : value;
    changed(card);
  };
  const buttons = options.map(([value, words]) => button(words, `${card.individual}: ${words}`, () => set(value)));
  const again = () => buttons.forEach((each, which) => each.setAttribute("aria-pressed", card.row[name] === options[which][0]));
  card.refresh.push(again);
  again();
  return group(title, ...buttons);
}

function field(card, name, title, tag) {
  const id = `${card.id}-${name}`;
  const input = element(tag, { id, value: card.row[name] || "", autocomplete: "off", "aria-label": `${card.individual}: ${title}` });
  const wrong = element("span", { className: "wrong", id: `${id}-wrong` });
  if (name in MEASURES) input.inputMode = "decimal";
  if (name in COUNTS) input.inputMode = "numeric";
  input.setAttribute("aria-describedby", wrong.id);
  const again = () => {
    if (document.activeElement !== input) input.value = card.row[name] || "";
    say(wrong, mistake(name, card.row[name] || ""));
    input.setAttribute("aria-invalid", wrong.textContent !== "");
  };
  input.oninput = () => {
    card.row[name] = input.value.trim();
    changed(card);
  };
  card.refresh.push(again);
  again();
  return element("div", { className: "field" }, element("label", { htmlFor: id, textContent: title }), input, wrong);
}
