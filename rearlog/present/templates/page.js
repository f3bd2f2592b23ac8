"use strict";
// Without this script all parts can be opened, the tables stay whole, and the page is printed as any other.

// A link into a folded part opens it.
for (const link of document.querySelectorAll('a[href^="#"]')) {
  link.addEventListener("click", () => {
    const target = document.getElementById(link.hash.slice(1));
    for (let part = target?.closest("details"); part; part = part.parentElement.closest("details")) part.open = true;
  });
}

// One button opens everything for print, and what was folded is folded again afterwards.
for (const button of document.querySelectorAll("button.print")) {
  button.hidden = false;
  button.addEventListener("click", () => {
    const folded = [...document.querySelectorAll("details:not([open])")];
    for (const part of folded) part.open = true;
    addEventListener("afterprint", () => { for (const part of folded) part.open = false; }, { once: true });
    print();
  });
}

// One individual is followed through all pictures: chosen by its code, or by what is drawn of it.
{
  const bar = document.querySelector(".follow");
  const chosen = bar.querySelector("select");
  const life = document.querySelector(".life");
  const stop = life.querySelector("button");
  const parts = new Map();
  for (const part of document.querySelectorAll("[data-of]")) {
    const of = part.dataset.of;
    parts.set(of, [...(parts.get(of) ?? []), part]);
  }
  const lives = new Map([...chosen.options].map((option) => [option.value, option.dataset.life]));

  const show = (of) => {
    for (const each of document.querySelectorAll(".followed")) each.classList.remove("followed");
    for (const each of document.querySelectorAll(".following")) each.classList.remove("following");
    for (const part of parts.get(of) ?? []) {
      part.classList.add("followed");
      part.ownerSVGElement?.classList.add("following");
    }
  };
  const follow = (of) => {
    chosen.value = of;
    stop.hidden = of === "";
    life.querySelector("[role=status]").textContent = lives.get(of) ?? "";
    show(of);
  };

  bar.hidden = parts.size === 0;
  chosen.addEventListener("change", () => follow(chosen.value));
  stop.addEventListener("click", () => { follow(""); chosen.focus(); });
  addEventListener("keydown", (event) => { if (event.key === "Escape" && chosen.value) follow(""); });
  for (const [of, all] of parts) {
    for (const part of all) {
      part.addEventListener("click", () => follow(chosen.value === of ? "" : of));
      part.addEventListener("pointerenter", (event) => { if (event.pointerType === "mouse") show(of); });
      part.addEventListener("pointerleave", () => show(chosen.value));
    }
  }
}

// Sorting by a column's heading, and showing one individual.
for (const part of document.querySelectorAll("details.individuals")) {
  const table = part.querySelector("table.sortable");
  const body = table.tBodies[0];
  const tools = part.querySelector(".tools");
  const input = tools.querySelector("input");
  const status = tools.querySelector("[role=status]");
  tools.hidden = false;

  const value = (row, place) => row.cells[place].textContent.trim();
  const compare = (a, b) => {
    const [x, y] = [parseFloat(a), parseFloat(b)];
    if (!Number.isNaN(x) && !Number.isNaN(y)) return x - y || a.localeCompare(b, "en", { numeric: true });
    if (Number.isNaN(x) !== Number.isNaN(y) && (a === "–" || b === "–")) return a === "–" ? 1 : -1;
    return a.localeCompare(b, "en", { numeric: true });
  };

  [...table.tHead.rows[0].cells].forEach((heading, place) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = heading.textContent;
    heading.replaceChildren(button);
    button.addEventListener("click", () => {
      const up = heading.getAttribute("aria-sort") !== "ascending";
      for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
      heading.setAttribute("aria-sort", up ? "ascending" : "descending");
      const rows = [...body.rows].sort((a, b) => compare(value(a, place), value(b, place)) * (up ? 1 : -1));
      body.append(...rows);
    });
  });

  input.addEventListener("input", () => {
    const wanted = input.value.trim().toLowerCase();
    let shown = 0;
    for (const row of body.rows) {
      row.hidden = wanted !== "" && value(row, 0).toLowerCase() !== wanted;
      if (!row.hidden) shown += 1;
    }
    status.textContent = wanted === "" ? "" : `${shown} rows`;
  });
}
