// The round, live. What is tapped is kept in this browser first, sent when the network is there, and
// forgotten here only when the server says that it is on its disk. Each look has a name that was
// made here, so that sending it twice writes it once.
import { AWAY, Outbox, made } from "./outbox.js";
import { button, element, fill, group, hint, say } from "./elements.js";

const byId = (id) => document.getElementById(id);
const data = JSON.parse(byId("data").textContent);
const stages = new Map(data.stages.map((stage) => [stage.code, stage]));
const opened = Date.now();
const skew = Date.parse(data.now) - opened; // the shelf's clock counts, not the device's
const present = () => new Date(Date.now() + skew).toISOString();
const looking = () => (data.from ? new Date(Date.parse(data.from) + Date.now() - opened).toISOString() : present());
const ON = data.from ? `on=${data.state.day}` : "";
const box = new Outbox(data.cohort, present, ON);
const cards = new Map(); // code → its parts on the page
let state = data.state;
let place = null; // the code that was touched last
const EVERY = 3000;

const initials = () => byId("by").value.trim();
const clock = (at) => new Date(at).toTimeString().slice(0, 5); // as this device tells the time
// For how many days it has been in its stage, as far as looks tell.
const inStage = (days, unlooked) =>
  unlooked ? `${days} to ${days + unlooked} days (nobody looked)` : `${days} day${days === 1 ? "" : "s"}`;
const daysSince = (day) => Math.round((Date.parse(state.day) - Date.parse(day)) / 86400000);
const waitingOf = (code) => box.waiting().filter((each) => each.individual === code);
const looksOf = (card) => {
  const undone = new Set(waitingOf(card.individual).filter((each) => each.undo).map((each) => each.token));
  const waiting = waitingOf(card.individual).filter((each) => !each.undo);
  const known = new Set(card.looks.map((each) => each.token));
  const own = waiting.filter((each) => !known.has(each.token)).map((each) => ({ ...each, waiting: true, by: initials() }));
  return [...card.looks, ...own].filter((each) => !undone.has(each.token));
};
const stageOf = (card) => {
  const own = waitingOf(card.individual).filter((each) => each.stage);
  return own.length ? own[own.length - 1].stage : card.stage;
};

// ---- what is tapped

function see(card, said) {
  const token = made();
  box.put({ individual: card.individual, at: looking(), token, ...said });
  place = card.individual;
  draw(card);
  tell();
  send();
}

function undo(card, look) {
  const waiting = look.waiting && box.drop(look.token);
  if (!waiting) box.put({ individual: card.individual, token: look.token, undo: true });
  draw(card);
  tell();
  send();
}

// ---- a card

function build(card) {
  const code = card.individual;
  const id = `card-${state.cards.indexOf(card)}`;
  const parts = { id, panel: element("div", { className: "panel", id: `${id}-panel`, hidden: true }) };
  parts.egg = element("span", { className: "stage" });
  parts.last = element("span", { className: "last" });
  parts.looks = element("ul", { className: "looks" });
  parts.same = button("No change", `${code}: No change`, () => see(now(code), { same: true }));
  parts.on = button("", "", () => see(now(code), { stage: parts.on.dataset.stage }));
  parts.more = button("More", `${code}: More`, () => unfold(parts, now(code), parts.panel.hidden));
  parts.more.setAttribute("aria-controls", parts.panel.id);
  parts.about = element("p", { className: "about" });
  parts.buttons = element("div", { className: "buttons" }, parts.same, parts.on, parts.more);
  parts.article = element(
    "article",
    { "aria-labelledby": id },
    element("div", { className: "head" }, parts.egg, element("h2", { id, textContent: code }), parts.last),
    parts.about,
    parts.looks,
    parts.buttons,
    parts.panel
  );
  cards.set(code, parts);
  draw(card);
  return parts.article;
}

const now = (code) => state.cards.find((card) => card.individual === code);

function draw(card) {
  const parts = cards.get(card.individual);
  const looks = looksOf(card);
  const stage = stageOf(card);
  const fate = (looks.find((look) => look.fate) || { fate: null }).fate;
  const days = daysSince(card.since);
  const [fill_, ink] = data.colours[stage];
  const next = stages.get(stage).offered[0];
  eggOf(parts.egg, stage, fill_, ink);
  say(parts.last, fate ? `${stage}, ${fate}` : stage === card.stage ? `${stage}, ${inStage(days, card.unlooked)}` : stage);
  say(parts.about, [card.kept || card.container, card.note ? `last note: “${card.note}”` : ""].filter(Boolean).join(" · "));
  parts.about.hidden = parts.about.textContent === "";
  fill(parts.looks, looks.map((look) => lineOf(card, look)));
  parts.on.hidden = !next || fate !== null;
  parts.same.hidden = fate !== null;
  if (next) {
    parts.on.dataset.stage = next;
    say(parts.on, `→ ${next}`);
    parts.on.setAttribute("aria-label", `${card.individual}: now ${next}`);
  }
  parts.article.className = `card ${looks.length ? (fate ? "ended" : "looked") : "open"}${card.doubt.length ? " doubtful" : ""}`;
}

function eggOf(where, stage, fill_, ink) {
  if (where.dataset.stage === stage) return;
  where.dataset.stage = stage;
  const of = (tag, attributes, text) => {
    const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
    Object.entries(attributes).forEach(([name, value]) => node.setAttribute(name, value));
    if (text) node.textContent = text;
    return node;
  };
  const svg = of("svg", { class: "egg", viewBox: "0 0 40 48", "aria-hidden": "true", focusable: "false" });
  svg.append(of("path", { d: "M20 2C30 2 38 18 38 30C38 41 30 46 20 46C10 46 2 41 2 30C2 18 10 2 20 2Z", fill: fill_ }));
  const long = stage.length > 3 ? { textLength: 30, lengthAdjust: "spacingAndGlyphs" } : {};
  svg.append(of("text", { x: 20, y: 34, "text-anchor": "middle", fill: ink, ...long }, stage));
  fill(where, [svg]);
}

function lineOf(card, look) {
  const state_ = look.said === "same" ? "no change" : look.said;
  const words = look.waiting ? saidOf(look) : [state_, ...countsOf(look.counted), mateOf(look)].filter(Boolean).join(", ");
  const who = [data.from ? "" : clock(look.at), look.by].filter(Boolean).join(" ");
  const kept = look.waiting ? "kept here, not sent yet" : "written down";
  const doubtful = card.doubt.includes(look.number);
  const text = `${look.waiting ? "…" : "✓"} ${[words, who, kept].filter(Boolean).join(" · ")}${doubtful ? " · in doubt: it contradicts another look" : ""}`;
  const mine = look.waiting || (look.token && (data.keeper || (look.by || "") === initials()));
  const back = mine ? [button("Undo", `${card.individual}: undo ${words}`, () => undo(card, look))] : [];
  const address = `/cohort/${data.cohort}/photo/${look.photo}.jpg`;
  const shot = look.photo && !look.waiting ? [element("a", { className: "see", href: address, "aria-label": `${card.individual}: its picture`, textContent: "Picture" })] : [];
  return element("li", { className: doubtful ? "doubtful" : "" }, element("span", { textContent: text }), ...shot, ...back);
}

const countsOf = (look) => Object.entries(data.counts).map(([name, [word]]) => name in look && `${word}: ${look[name]}`);
const mateOf = (look) => look.mate && `with, or in: ${look.mate}`;

function saidOf(look) {
  const state = look.fate ? `${look.fate}${look.cause ? ` (${look.cause})` : ""}` : look.same ? "no change" : look.stage;
  const measures = Object.entries(data.measures).map(([name, [word, unit]]) => look[name] && `${word} ${look[name]} ${unit}`);
  return [state, ...measures, ...countsOf(look), mateOf(look), look.note && `“${look.note}”`, look.photo && "with a picture"].filter(Boolean).join(", ");
}

// ---- the panel: another stage, an end, measures, a note; recorded as one look

function unfold(parts, card, shown) {
  parts.panel.hidden = !shown;
  parts.more.setAttribute("aria-expanded", String(shown));
  if (shown) fill(parts.panel, panelOf(parts, card));
  else parts.panel.replaceChildren();
}

function panelOf(parts, card) {
  const code = card.individual;
  const chosen = { same: true };
  const { offered, later, earlier } = stages.get(stageOf(card));
  const choices = [];
  const pick = (made_, said) => {
    ["same", "stage", "fate", "cause"].forEach((name) => delete chosen[name]);
    Object.assign(chosen, said);
    choices.forEach((each) => each.setAttribute("aria-pressed", String(each === made_)));
    causes.hidden = !said.fate;
    if (said.fate) fill(causes, causesOf(chosen, said.fate, code));
    doubt.hidden = !earlier.includes(said.stage);
    const adult = data.adults.includes(said.stage || stageOf(card));
    if (laid.hidden !== !adult) fill(laid, adult ? ofAdults(parts, chosen, card) : []);
    laid.hidden = !adult;
    if (!adult) OF_ADULTS.forEach((name) => delete chosen[name]);
  };
  const choice = (text, said) => {
    const made_ = button(text, `${code}: ${text}`, () => pick(made_, said));
    choices.push(made_);
    return made_;
  };
  const causes = element("div", { className: "causes", hidden: true });
  const laid = element("div", { hidden: true });
  const doubt = hint(`Earlier than ${stageOf(card)}? Then one of the two looks is wrong. Both are kept, and the log says that they are in doubt.`);
  doubt.hidden = true;
  const same = choice("No change", { same: true });
  const now_ = group("It is", same, ...[...offered, ...later].map((stage) => choice(stage, { stage })));
  const back = earlier.length ? [group("Earlier", ...earlier.map((stage) => choice(stage, { stage })))] : [];
  const ends = group("Or it is", ...Object.keys(data.causes).map((fate) => choice(fate, { fate })));
  const wrong = element("p", { className: "wrong", role: "alert" });
  const measures = Object.entries(data.measures).map(([name, [word, unit, most]]) => field(parts, chosen, name, `${word} (${unit})`, most));
  const note = element("textarea", { id: `${parts.id}-note`, rows: 2, maxLength: 2000 });
  note.addEventListener("input", () => (note.value.trim() ? (chosen.note = note.value.trim()) : delete chosen.note));
  const seen = toggle("I saw it happen", code, (on) => (on ? (chosen.witnessed = true) : delete chosen.witnessed));
  const sexes = ["f", "m"].map((sex) => [sex, sex === "f" ? "female" : "male"]);
  const sex = group("Sex", ...exclusive(sexes, code, (value) => (value ? (chosen.sex = value) : delete chosen.sex)));
  const shot = data.photos ? [pictureOf(parts, chosen, code, (busy) => (record.disabled = busy))] : [];
  const record = button("Record", `${code}: Record`, () => {
    const bad = Object.entries(data.measures).filter(([name]) => name in chosen && !(chosen[name] > 0));
    if (bad.length) return say(wrong, `${bad[0][1][0]} is a number above zero`);
    const miscounted = Object.entries(data.counts).filter(([name, [, , most]]) => name in chosen && !isCount(chosen[name], most));
    if (miscounted.length) return say(wrong, `${miscounted[0][1][0]}: a whole number, 0 for none`);
    unfold(parts, card, false);
    see(now(code), chosen);
    parts.more.focus();
  });
  record.className = "main";
  const away = button("Close", `${code}: Close`, () => (unfold(parts, card, false), parts.more.focus()));
  pick(same, { same: true });
  return [
    now_,
    group("", button("What do they look like?", `${code}: what do they look like?`, () => byId("sizes").showModal())),
    ...back,
    doubt,
    ends,
    causes,
    group("", seen),
    element("div", { className: "measures" }, ...measures),
    sex,
    laid,
    element("p", {}, element("label", { htmlFor: note.id, textContent: "Note" }), note),
    ...shot,
    wrong,
    element("div", { className: "buttons" }, record, away),
  ];
}

const OF_ADULTS = [...Object.keys(data.counts), "mate"];
const isCount = (value, most) => Number.isInteger(value) && value >= 0 && value <= most;

// Eggs of what is no known male, and with whom it is kept from now on.
function ofAdults(parts, chosen, card) {
  const counts = card.male ? [] : Object.entries(data.counts).map(([name, [word, , most]]) => count(parts, chosen, name, word, most));
  const mate = element("input", { id: `${parts.id}-mate`, autocomplete: "off", autocapitalize: "off", maxLength: 49 });
  mate.addEventListener("input", () => (mate.value.trim() ? (chosen.mate = mate.value.trim()) : delete chosen.mate));
  const kept = element("p", { className: "field" }, element("label", { htmlFor: mate.id, textContent: "mate or cage, from now on" }), mate);
  const all = card.cage && !card.male ? [hint(`Eggs are those of all in ${card.cage}: tell them at one of its cards.`)] : [];
  return [element("div", { className: "measures" }, ...counts, kept), ...all];
}

function count(parts, chosen, name, title, most) {
  const input = element("input", { id: `${parts.id}-${name}`, inputMode: "numeric", autocomplete: "off", maxLength: 7 });
  input.addEventListener("input", () => {
    const text = input.value.trim();
    if (text) chosen[name] = /^\d+$/.test(text) ? Number(text) : NaN;
    else delete chosen[name];
    input.setAttribute("aria-invalid", String(text !== "" && !isCount(chosen[name], most)));
  });
  return element("p", { className: "field" }, element("label", { htmlFor: input.id, textContent: title }), input);
}

// A picture of it is sent at once, so that the look can name it: the look waits for it.
function pictureOf(parts, chosen, code, wait) {
  const told = element("p", { className: "note", role: "status" });
  const shown = element("img", { className: "shot", alt: "", hidden: true });
  const out = button("Leave the picture out", `${code}: leave the picture out`, () => drop());
  const inputs = [];
  let turn = 0;
  const drop = () => {
    turn += 1;
    delete chosen.photo;
    URL.revokeObjectURL(shown.src);
    shown.removeAttribute("src");
    shown.hidden = out.hidden = true;
    inputs.forEach((each) => (each.value = ""));
    say(told, "");
    wait(false);
  };
  const sent = async (file) => {
    turn += 1;
    const mine = turn;
    delete chosen.photo;
    shown.hidden = true;
    out.hidden = false;
    wait(true);
    say(told, "The picture is on its way …");
    const answer = navigator.onLine ? await box.keep(file) : { problem: AWAY };
    if (mine !== turn) return; // another one was chosen, or none, meanwhile
    wait(false);
    if (!answer.photo) {
      drop();
      return say(told, `The picture is not kept: ${answer.problem}`);
    }
    chosen.photo = answer.photo;
    shown.src = URL.createObjectURL(file);
    shown.hidden = false;
    say(told, "The picture is kept. It goes with this look when you record it.");
  };
  const choice = (name, words, more) => {
    const input = element("input", { id: `${parts.id}-${name}`, type: "file", accept: "image/jpeg,image/png,image/webp", ...more });
    input.addEventListener("change", () => input.files.length && sent(input.files[0]));
    inputs.push(input);
    return element("p", { className: "field" }, element("label", { htmlFor: input.id, textContent: words }), input);
  };
  const camera = choice("camera", "Take a picture", { capture: "environment" });
  const file = choice("file", "or choose one", {});
  const about = hint("The animal, no faces: everybody who logs rounds here can see it. Place, time and camera are taken out.");
  out.hidden = true;
  return element("div", { role: "group", "aria-label": "Picture" }, element("div", { className: "measures" }, camera, file), about, told, shown, out);
}

function causesOf(chosen, fate, code) {
  const input = element("input", { maxLength: 200, "aria-label": `${code}: cause` });
  const usual = exclusive(data.causes[fate].map((cause) => [cause, cause]), code, (cause) => {
    input.value = cause;
    take(cause);
  });
  const take = (cause) => (cause ? (chosen.cause = cause) : delete chosen.cause);
  input.addEventListener("input", () => take(input.value.trim()));
  const more = fate === "removed" ? [hint(data.release)] : [];
  return [group("Because of", ...usual), element("p", {}, "Or: ", input), ...more];
}

function exclusive(options, code, chose) {
  const made_ = options.map(([value, words]) =>
    button(words, `${code}: ${words}`, () => {
      const on = made_[options.findIndex((each) => each[0] === value)].getAttribute("aria-pressed") !== "true";
      made_.forEach((each, which) => each.setAttribute("aria-pressed", String(on && options[which][0] === value)));
      chose(on ? value : "");
    })
  );
  made_.forEach((each) => each.setAttribute("aria-pressed", "false"));
  return made_;
}

function toggle(words, code, turned) {
  const made_ = button(words, `${code}: ${words}`, () => {
    const on = made_.getAttribute("aria-pressed") !== "true";
    made_.setAttribute("aria-pressed", String(on));
    turned(on);
  });
  made_.setAttribute("aria-pressed", "false");
  return made_;
}

function field(parts, chosen, name, title) {
  const input = element("input", { id: `${parts.id}-${name}`, inputMode: "decimal", autocomplete: "off", maxLength: 12 });
  input.addEventListener("input", () => {
    const text = input.value.trim().replace(",", ".");
    if (text) chosen[name] = Number(text);
    else delete chosen[name];
    input.setAttribute("aria-invalid", String(text !== "" && !(Number(text) > 0)));
  });
  return element("p", { className: "field" }, element("label", { htmlFor: input.id, textContent: title }), input);
}

// ---- the round as a whole

function tell() {
  const living = state.cards;
  const left = living.filter((card) => !looksOf(card).length);
  const looked = living.length - left.length;
  byId("finish").hidden = !living.length;
  byId("next").hidden = !living.length;
  say(byId("count"), !living.length ? "Nobody is alive to look at" : left.length ? `${looked} of ${living.length} looked at` : `All ${living.length} looked at`);
  byId("done").setAttribute("width", String((100 * looked) / Math.max(1, living.length)));
  say(byId("rest-told"), left.length ? `${left.length} not looked at yet: ${left.slice(0, 12).map((each) => each.individual).join(", ")}${left.length > 12 ? " …" : ""}` : "Nobody is left: the round is complete.");
  byId("rest").disabled = !left.length;
  if (!left.length) ask(false);
  const waiting = box.waiting().length;
  byId("net").className = `net ${box.trouble ? "away" : waiting ? "busy" : "well"}`;
  say(byId("net"), box.trouble || (waiting ? `${waiting} on the way` : "Everything is written down"));
  fill(
    byId("refused"),
    box.refused().map((each) => {
      const text = `${each.look.individual}: ${saidOf(each.look)} was not taken. ${each.problems.map((one) => `${one.message}${one.remedy ? ` (${one.remedy})` : ""}`).join("; ")}`;
      return element(
        "div",
        { className: "trouble" },
        element("p", { textContent: text }),
        element("div", { className: "buttons" }, button("Try again", `${each.look.individual}: try again`, () => (box.again(each), tell(), send())), button("Let it go", `${each.look.individual}: let it go`, () => (box.forget(each), tell())))
      );
    })
  );
}

function take(fresh) {
  if (!fresh) return;
  const before = new Map(state.cards.map((card) => [card.individual, JSON.stringify(card)]));
  const codes = (cards_) => cards_.map((card) => card.individual).join(" ");
  const same = codes(fresh.cards) === codes(state.cards);
  state = fresh;
  if (same) state.cards.filter((card) => before.get(card.individual) !== JSON.stringify(card)).forEach(draw);
  else arrange();
  tell();
}

function arrange() {
  fill(byId("cards"), state.cards.map((card) => (cards.has(card.individual) ? (draw(card), cards.get(card.individual).article) : build(card))));
}

async function send() {
  await box.send(take, () => {
    state.cards.filter((card) => cards.has(card.individual)).forEach(draw);
    tell();
  });
}

async function watch() {
  if (document.hidden || box.sending) return;
  if (box.waiting().length) return send();
  const fresh = await box.ask(`/cohort/${data.cohort}/round/state?known=${encodeURIComponent(state.version)}&${ON}`);
  if (fresh) take(fresh);
  tell();
}

function ask(asked) {
  byId("sure").hidden = !asked;
  byId("rest").hidden = asked;
}

byId("next").addEventListener("click", () => {
  const all = state.cards;
  const from = all.findIndex((card) => card.individual === place) + 1;
  const next = [...all.slice(from), ...all.slice(0, from)].find((card) => !looksOf(card).length);
  if (!next) return byId("finish").focus();
  place = next.individual;
  const parts = cards.get(place);
  parts.article.scrollIntoView({ block: "center" });
  parts.same.focus({ preventScroll: true });
});
byId("rest").addEventListener("click", () => (ask(true), byId("yes").focus()));
byId("no").addEventListener("click", () => (ask(false), byId("rest").focus()));
byId("yes").addEventListener("click", () => {
  ask(false);
  const at = looking();
  state.cards.filter((card) => !looksOf(card).length).forEach((card) => box.put({ individual: card.individual, at, token: made(), same: true }));
  state.cards.forEach(draw);
  tell();
  send();
});
const nameless = () => say(byId("by-told"), initials() ? "" : "Without initials nobody knows who looked.");
byId("by").addEventListener("change", async () => {
  await send(); // what was tapped before is of whoever tapped it
  nameless();
  if (initials()) say(byId("by-told"), await box.call(initials()));
  state.cards.forEach(draw);
});
window.addEventListener("online", send);
window.addEventListener("storage", () => (state.cards.forEach(draw), tell()));
document.addEventListener("visibilitychange", watch);

arrange();
tell();
nameless();
send();
setInterval(watch, EVERY);
