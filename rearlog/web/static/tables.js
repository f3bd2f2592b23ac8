// Sorting by a column's heading: up, down, and as it was. Without this the tables stay whole.
const UNKNOWN = "–";

const text = (row, place) => row.cells[place].textContent.trim();

// Numbers by their size (a range by its lower end), all else as words; what is unknown comes last.
function compared(a, b, sign) {
  if ((a === UNKNOWN) !== (b === UNKNOWN)) return a === UNKNOWN ? 1 : -1;
  const [x, y] = [a, b].map((each) => parseFloat(each.replace(/^[<>]/, "")));
  const numbers = !Number.isNaN(x) && !Number.isNaN(y) && x !== y;
  return sign * (numbers ? x - y : a.localeCompare(b, "en", { numeric: true }));
}

function sort(table, heading, place, rows) {
  const next = { ascending: "descending", descending: "none" }[heading.getAttribute("aria-sort")] ?? "ascending";
  for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
  if (next !== "none") heading.setAttribute("aria-sort", next);
  const sign = { ascending: 1, descending: -1 }[next];
  const order = sign ? [...rows].sort((a, b) => compared(text(a, place), text(b, place), sign)) : rows;
  table.tBodies[0].append(...order);
}

for (const table of document.querySelectorAll("table.sortable")) {
  const rows = [...table.tBodies[0].rows];
  if (rows.length < 2) continue;
  [...table.tHead.rows[0].cells].forEach((heading, place) => {
    if (!heading.textContent.trim()) return;
    const button = document.createElement("button");
    button.type = "button";
    button.append(...heading.childNodes);
    button.addEventListener("click", () => sort(table, heading, place, rows));
    heading.append(button);
  });
}
