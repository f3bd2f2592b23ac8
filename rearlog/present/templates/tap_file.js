// The file that is saved: tidy CSV, times with the offset from UTC that this device has.

const MEASURES = page.measures; // by name: title, unit, and the most that the log takes
const COUNTS = page.counts; // by name, in the same way: whole numbers, of adults
const COLUMNS = page.columns;
// What spreadsheets take for the beginning of a formula, also behind what may separate cells.
const RISKY = /^(?='*[\t\r\n]|['"]*[=+\-@＝＋－＠])|[,;|\t\r\n](?=['"]*[=+\-@＝＋－＠])/g;

function stamp(at) {
  const offset = -at.getTimezoneOffset();
  const local = new Date(at.getTime() + offset * 60000).toISOString().slice(0, 19);
  const two = (number) => String(Math.floor(number)).padStart(2, "0");
  return `${local}${offset < 0 ? "-" : "+"}${two(Math.abs(offset) / 60)}:${two(Math.abs(offset) % 60)}`;
}

const NAME = /^[\p{L}\p{N}_]{1,24}(-[\p{L}\p{N}_]{1,24})?$/u; // of a mate, or a cage
const now = () => stamp(new Date());
const day = (moment) => moment.slice(0, 10);
const clock = (moment) => moment.slice(11, 16);

function cell(name, value) {
  const plain = name in MEASURES ? value.replace(",", ".") : value;
  const text = name in MEASURES ? plain : plain.replace(RISKY, "$&'");
  return /[",;\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
}

function csv(rows) {
  const lines = rows.map((row) => COLUMNS.map((name) => cell(name, row[name] || "")));
  return [COLUMNS, ...lines].map((cells) => `${cells.join(",")}\r\n`).join("");
}

// No two files have one name: cohort, moment to the second, device.
function fileName(cohort, moment) {
  const second = moment.slice(11, 19).replace(/:/g, "");
  return `${cohort.replace(/[^\w-]+/g, "_")}-${day(moment)}-${second}-${DEVICE}.csv`;
}

function download(rows, name) {
  const mark = "\ufeff"; // tells spreadsheets the encoding
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([mark, csv(rows)], { type: "text/csv" }));
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

// What is wrong with a detail as it was typed, in words; nothing where it is right.
function mistake(name, text) {
  if (name in COUNTS) return miscounted(COUNTS[name], text);
  if (name === "mate") return !text || NAME.test(text) ? "" : "write a code, or the name of a cage such as cage-1";
  if (!(name in MEASURES)) return "";
  const [, unit, limit] = MEASURES[name];
  const value = Number(text.replace(",", "."));
  if (text === "") return "";
  if (!/^\d*[.,]?\d+$/.test(text) || value === 0 || !isFinite(value)) return "write a number above zero, such as 0.61";
  return value > limit ? `cannot be: more than ${Number(limit.toPrecision(3))} ${unit}` : "";
}

function miscounted([, unit, limit], text) {
  if (text && !/^\d+$/.test(text)) return "write a whole number, 0 for none";
  return Number(text) > limit ? `cannot be: more than ${limit} ${unit}` : "";
}
