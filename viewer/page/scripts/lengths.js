// Lengths as people write and read them: the same reading and printing as the plan's own lists (model/lengths.py).

const MM = 1 / 25.4;
const SAME = 1e-6; // inches: two lengths closer than this are equal
const LONGEST = 120000; // inches
const UNITS = { in: 1, ft: 12, mm: MM, cm: 10 * MM, m: 1000 * MM };
const NUMBER = "(?:[0-9]+(?:\\s+|\\s*-\\s*)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\\.[0-9]*)?|\\.[0-9]+)";
const BARE = new RegExp(`^${NUMBER}$`);
const METRIC = new RegExp(`^(${NUMBER})\\s*(mm|cm|m|metres?|meters?)$`, "i");
const US = new RegExp(
  `^(?:(${NUMBER})\\s*(?:'|feet|foot|ft)\\.?(?:\\s*-?\\s*(?=[0-9.]))?)?(?:(${NUMBER})\\s*(?:"|inches|inch|in)\\.?)?$`,
  "i",
);
const EIGHTHS = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };

/** Text with typographic marks, dashes and fractions as typewriter ones. */
function plainMarks(text) {
  return text
    .replace(/[′’‘ʹ`´]/g, "'")
    .replace(/[″”“ʺ]/g, '"')
    .replace(/[−–‐‑]/g, "-")
    .replace(/[\u00a0\u2009\u202f]/g, " ")
    .replace(/⁄/g, "/")
    .replace(/[½¼¾⅛⅜⅝⅞]/g, (sign) => ` ${EIGHTHS[sign]}`)
    .replace(/''/g, '"')
    .trim();
}

/** Value of "6-1/2", "6 1/2", "1/2" or "6.5"; NaN if it is none. */
function fraction(number) {
  const [whole, part] = number.split(/[\s-]+/).filter(Boolean);
  const value = (text) => {
    const [over, under] = text.split("/");
    return under === undefined ? Number(over) : Number(under) === 0 ? NaN : Number(over) / Number(under);
  };
  if (part === undefined) return value(whole);
  return value(part) < 1 ? Number(whole) + value(part) : NaN;
}

/** Inches of a length as people write it, NaN if it is none; `bare` is the unit of a number without one. */
function readLength(text, bare) {
  if (text.trim().length > 60) return NaN;
  const plain = plainMarks(text);
  const minus = plain.startsWith("-");
  const body = minus ? plain.slice(1).trimStart() : plain;
  let inches = NaN;
  let found;
  if (BARE.test(body)) {
    inches = fraction(body) * UNITS[bare];
  } else if ((found = METRIC.exec(body))) {
    const unit = found[2].toLowerCase();
    inches = fraction(found[1]) * UNITS[unit.startsWith("me") ? "m" : unit];
  } else if (body && (found = US.exec(body))) {
    const [feet, rest] = [found[1], found[2]].map((part) => (part === undefined ? 0 : fraction(part)));
    inches = found[1] !== undefined && rest >= 12 ? NaN : 12 * feet + rest;
  }
  if (!(Math.abs(inches) <= LONGEST)) return NaN;
  return minus ? -inches : inches;
}

/** Words of a length: feet and inches to 1/16, or whole millimetres. */
function formatLength(inches, metric, feet = true) {
  if (metric) return `${Math.floor(inches / MM + 0.5)} mm`;
  const sixteenths = Math.floor(inches * 16 + 0.5);
  const sign = sixteenths < 0 ? "-" : "";
  let whole = Math.floor(Math.abs(sixteenths) / 16);
  let [over, under] = [Math.abs(sixteenths) % 16, 16];
  while (over && over % 2 === 0) [over, under] = [over / 2, under / 2];
  const wholeFeet = feet && whole >= 12 ? Math.floor(whole / 12) : 0;
  whole -= 12 * wholeFeet;
  const part = over ? `${over}/${under}` : "";
  const number = whole && part ? `${whole}-${part}` : part || String(whole);
  return wholeFeet ? `${sign}${wholeFeet}' ${number}"` : `${sign}${number}"`;
}
