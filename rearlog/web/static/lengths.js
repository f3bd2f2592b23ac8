// Millimetres from taps, four a measurement: the ends of a known length, the ends of what is measured.

const distance = ([x, y], [toX, toY]) => Math.hypot(toX - x, toY - y);

// Quantiles of Student's t, 97.5 %, for 1, 2 … degrees of freedom; beyond them that of the normal.
const T = [12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228];

// The mean of all whole measurements, how many, and half its 95 % interval (null for one alone);
// null where there is none, or no known length.
export function lengthOf(taps, known) {
  const times = Math.floor(taps.length / 4);
  if (!times || !(known > 0)) return null;
  const found = [];
  for (let place = 0; place < times; place += 1) {
    const [from, to, one, other] = taps.slice(4 * place, 4 * place + 4);
    const ruler = distance(from, to);
    if (ruler === 0) return null;
    found.push((known * distance(one, other)) / ruler);
  }
  const mean = found.reduce((sum, each) => sum + each, 0) / times;
  if (times === 1) return { mm: mean, error: null, times };
  const spread = Math.sqrt(found.reduce((sum, each) => sum + (each - mean) ** 2, 0) / (times - 1));
  return { mm: mean, error: ((T[times - 2] || 1.96) * spread) / Math.sqrt(times), times };
}
