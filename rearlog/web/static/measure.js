// Lengths in a picture: the two ends of a known length on a ruler, then the two ends of what is
// measured, both twice or more, so that the error of tapping shows. Nothing is sent.
import { lengthOf } from "./lengths.js";
import { say } from "./elements.js";

const byId = (id) => document.getElementById(id);
const canvas = byId("photo");
const LEAST_TIMES = 2;
const LARGEST = 2400;
let image = null;
let taps = []; // [x, y] in the picture, in the order: ruler, ruler, animal, animal, ruler …
let cross = null; // where the keyboard is

const ASKED = ["one end of the known length on the ruler", "its other end", "one end of the head or body", "its other end"];

function ask() {
  const times = Math.floor(taps.length / 4);
  const again = times === 0 ? "" : times < LEAST_TIMES ? " Once more, so that the error shows:" : " Again, if you like:";
  say(byId("ask"), `${again} Tap ${ASKED[taps.length % 4]}.`.trim());
}

function draw() {
  const pen = canvas.getContext("2d");
  pen.drawImage(image, 0, 0, canvas.width, canvas.height);
  const unit = canvas.width / 300;
  taps.forEach(([x, y], place) => {
    const ruler = place % 4 < 2;
    mark(pen, x, y, unit, ruler ? "#ffd23f" : "#ff6f61");
    if (place % 2) line(pen, taps[place - 1], [x, y], unit, ruler ? "#ffd23f" : "#ff6f61");
  });
  if (cross) mark(pen, cross[0], cross[1], 2 * unit, "#ffffff");
}

function mark(pen, x, y, size, colour) {
  for (const [width, ink] of [[size, "#000000"], [size / 2, colour]]) {
    pen.lineWidth = width;
    pen.strokeStyle = ink;
    pen.beginPath();
    pen.moveTo(x - 3 * size, y);
    pen.lineTo(x + 3 * size, y);
    pen.moveTo(x, y - 3 * size);
    pen.lineTo(x, y + 3 * size);
    pen.stroke();
  }
}

function line(pen, [x, y], [toX, toY], size, colour) {
  pen.lineWidth = size / 2;
  pen.strokeStyle = colour;
  pen.beginPath();
  pen.moveTo(x, y);
  pen.lineTo(toX, toY);
  pen.stroke();
}

function tell() {
  const known = Number(byId("known").value.trim().replace(",", "."));
  const found = lengthOf(taps, known);
  say(byId("result"), found === null ? "" : found.error === null ? `${found.mm.toFixed(2)} mm, measured once` : `${found.mm.toFixed(2)} ± ${found.error.toFixed(2)} mm`);
  say(byId("how"), found === null ? (known > 0 ? "" : "The known length is a number above zero.") : found.error === null ? "" : `The mean of ${found.times} measurements and its 95 % limits; what the lens and a slanted ruler add is not in them.`);
  const on = byId("on");
  if (on) {
    on.hidden = found === null;
    if (found) byId("which").href = `/which?measured=${found.mm.toFixed(2)}`;
  }
  ask();
  draw();
}

function tap(x, y) {
  taps.push([x, y]);
  tell();
}

byId("file").addEventListener("change", async () => {
  const [file] = byId("file").files;
  if (!file) return;
  try {
    image = await createImageBitmap(file);
  } catch (error) {
    say(byId("ask"), "This picture cannot be read: choose a JPEG, PNG or WebP.");
    byId("work").hidden = false;
    return;
  }
  const scale = Math.min(1, LARGEST / Math.max(image.width, image.height));
  [canvas.width, canvas.height] = [Math.round(image.width * scale), Math.round(image.height * scale)];
  taps = [];
  cross = null;
  byId("work").hidden = false;
  tell();
});
canvas.addEventListener("click", (event) => {
  const box = canvas.getBoundingClientRect();
  const factor = canvas.width / box.width;
  cross = null;
  tap((event.clientX - box.left) * factor, (event.clientY - box.top) * factor);
});
canvas.addEventListener("keydown", (event) => {
  const step = (event.shiftKey ? 1 : 10) * Math.max(1, canvas.width / 1200);
  const ways = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
  if (!image || !(event.key in ways || event.key === "Enter")) return;
  event.preventDefault();
  cross = cross || [canvas.width / 2, canvas.height / 2];
  if (event.key === "Enter") return tap(cross[0], cross[1]);
  cross = [cross[0] + ways[event.key][0], cross[1] + ways[event.key][1]];
  draw();
});
byId("back").addEventListener("click", () => (taps.pop(), tell()));
byId("more").addEventListener("click", () => ((taps = []), tell()));
byId("known").addEventListener("input", tell);
