"use strict";
// Rounds of ten. What somebody mistook stays on this device; where a class practises together, the
// pairs of what was shown and what was said go to the shelf, without a name.
(function practise() {
  const byId = (id) => document.getElementById(id);
  const data = JSON.parse(byId("data").textContent);
  const KEY = `rearlog-practice/${data.species}`;
  const LENS_MM = 70;
  const order = data.animals.map((_, place) => place);
  let numbers = false;
  let round = []; // {shown, said, sure} of this round
  let at = Number(read().next || 0) % data.animals.length;

  function read() {
    try {
      return JSON.parse(localStorage.getItem(KEY)) || {};
    } catch (error) {
      return {};
    }
  }

  function write(kept) {
    try {
      localStorage.setItem(KEY, JSON.stringify(kept));
    } catch (error) {
      byId("ever").title = "this browser keeps nothing";
    }
  }

  function element(tag, text, parent) {
    const made = document.createElement(tag);
    if (text) made.textContent = text;
    if (parent) parent.append(made);
    return made;
  }

  // A drawing so many times its size, with a ruler in millimetres beneath it where it has a scale.
  function view(drawn, times, caption) {
    const figure = element("figure");
    figure.className = "view";
    const svg = new DOMParser().parseFromString(drawn.svg, "image/svg+xml").documentElement;
    svg.setAttribute("width", `${drawn.width * times}mm`);
    svg.setAttribute("height", `${drawn.height * times}mm`);
    figure.append(document.importNode(svg, true));
    if (drawn.scaled) figure.append(ruler(Math.max(1, Math.ceil(drawn.width)), times));
    element("figcaption", caption, figure);
    return figure;
  }

  function ruler(length, times) {
    const of = (tag, told) => {
      const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
      Object.keys(told).forEach((name) => node.setAttribute(name, told[name]));
      return node;
    };
    const tall = 4 / times;
    const step = length > 20 ? 5 : 1;
    const svg = of("svg", { class: "ruler", width: `${length * times}mm`, height: "8mm", viewBox: `0 0 ${length} ${2 * tall}`, "aria-hidden": "true" });
    svg.append(of("path", { d: `M0 0H${length}`, stroke: "currentColor", "stroke-width": 0.4 / times, fill: "none" }));
    for (let mm = 0; mm <= length; mm += step) {
      svg.append(of("path", { d: `M${mm} 0V${tall * (mm % 5 ? 0.5 : 1)}`, stroke: "currentColor", "stroke-width": 0.4 / times, fill: "none" }));
    }
    const words = of("text", { x: length, y: 1.9 * tall, "text-anchor": "end", "font-size": tall * 0.9, fill: "currentColor" });
    words.textContent = `${length} mm`;
    svg.append(words);
    return svg;
  }

  function ask() {
    const animal = data.animals[order[at]];
    byId("count").textContent = `${round.length + 1} of ${data.round}`;
    byId("answer").hidden = true;
    byId("unsure").checked = false;
    const views = byId("views");
    views.textContent = "";
    if (animal.photo) {
      const shown = element("img", "", views);
      shown.className = "photo";
      shown.alt = "a picture of the animal to tell";
      shown.src = animal.photo;
    } else if (numbers && animal.facts.length) {
      element("p", animal.facts.join(", "), views).className = "numbers";
    } else {
      const lens = Math.min(20, LENS_MM / animal.svg.width);
      if (lens > 1.3) views.append(view(animal.svg, 1, "as large as it is"));
      views.append(view(animal.svg, lens, lens > 1.3 ? `through a lens, ${lens.toFixed(1)} times` : "drawn to fit"));
    }
    const choices = byId("choices");
    choices.textContent = "";
    data.choices.forEach((code) => {
      const made = element("button", code === data.none ? "not an animal" : code, choices);
      made.type = "button";
      made.dataset.code = code;
      made.onclick = () => say(animal, code);
    });
  }

  function say(animal, said) {
    const sure = !byId("unsure").checked;
    round.push({ shown: animal.stage, said, sure });
    byId("choices").querySelectorAll("button").forEach((each) => {
      each.disabled = true;
      if (each.dataset.code === animal.stage) each.className = "right";
      else if (each.dataset.code === said) each.className = "wrong";
    });
    const name = (code) => (code === data.none ? "not an animal" : code);
    byId("verdict").textContent = said === animal.stage ? `${name(said)}: right.` : `You said ${name(said)}; it is ${name(animal.stage)}.`;
    byId("sign").textContent = animal.sign;
    const usual = byId("usual");
    usual.textContent = "";
    if (said !== animal.stage && animal.svg && data.usual[said]) {
      const lens = Math.min(20, LENS_MM / animal.svg.width);
      usual.append(view(data.usual[said], lens, `a usual ${said}, through the same lens`));
    }
    byId("next").textContent = round.length < data.round ? "Next" : "How it went";
    byId("answer").hidden = false;
    byId("verdict").focus();
  }

  function next() {
    at = (at + 1) % data.animals.length;
    if (round.length < data.round) return ask();
    const wrong = round.filter((each) => each.shown !== each.said);
    const kept = read();
    const ever = kept.ever || {};
    wrong.forEach((each) => {
      const pair = `${each.shown} ${each.said}`;
      ever[pair] = (ever[pair] || 0) + 1;
    });
    write({ next: at, ever, rounds: (kept.rounds || 0) + 1 });
    byId("score").textContent = `${data.round - wrong.length} of ${data.round} right`;
    list(byId("mistakes"), wrong.map((each) => `${each.shown} taken for ${each.said}${each.sure ? ", and you were sure" : ""}`));
    tellEver();
    byId("ask").hidden = true;
    byId("end").hidden = false;
    byId("score").focus();
    const tell = document.body.dataset.tell;
    if (tell) fetch(tell, { method: "POST", headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify({ answers: round }) }).catch(() => null);
  }

  function list(where, lines) {
    where.textContent = "";
    (lines.length ? lines : ["nothing"]).forEach((line) => element("li", line, where));
  }

  function tellEver() {
    const ever = read().ever || {};
    const pairs = Object.keys(ever).sort((one, other) => ever[other] - ever[one]);
    list(byId("ever"), pairs.map((pair) => `${pair.split(" ")[0]} taken for ${pair.split(" ")[1]}: ${ever[pair]} times`));
  }

  function mode(chosen) {
    numbers = chosen;
    byId("drawn").setAttribute("aria-pressed", String(!numbers));
    byId("numbered").setAttribute("aria-pressed", String(numbers));
    if (byId("answer").hidden && !byId("ask").hidden) ask();
  }

  byId("next").onclick = next;
  byId("again").onclick = () => {
    round = [];
    byId("ask").hidden = false;
    byId("end").hidden = true;
    ask();
  };
  byId("drawn").onclick = () => mode(false);
  byId("numbered").onclick = () => mode(true);
  tellEver();
  ask();
})();
