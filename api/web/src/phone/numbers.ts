// Numbers as the service writes them, so that phone and office show the same figure.
import { written } from "../words";

/** `value` with `places` decimals as the language of the page writes it; for reading, as "1,234.5". */
export function fixed(value: number, places: number, signed = false): string {
  return written(plain(value, places, signed));
}

/** `value` rounded to `places` decimals, for reckoning on. */
export function rounded(value: number, places: number): number {
  return Number(plain(value, places).replaceAll(",", ""));
}

/** `value` with `places` decimals and commas; exact halves go to the even digit, as in the service. */
function plain(value: number, places: number, signed = false): string {
  const size = Math.abs(value);
  let text = size.toFixed(places);
  const exact = size.toFixed(60); // all digits that a binary fraction of this size can have
  const cut = exact.indexOf(".") + 1 + places;
  if (/^50*$/.test(exact.slice(cut)) && /[13579]/.test(text.at(-1) ?? "")) {
    const down = exact.slice(0, places === 0 ? cut - 1 : cut);
    if (/[02468]/.test(down.at(-1) ?? "")) text = down;
  }
  const [whole = "0", rest] = text.split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ",");
  const sign = value < 0 || Object.is(value, -0) ? "-" : signed ? "+" : "";
  return sign + (rest === undefined ? grouped : `${grouped}.${rest}`);
}

/** Six digits at most and no trailing zeros; for reading. */
export function general(value: number): string {
  return written(String(Number(value.toPrecision(6))));
}

/** Without decimals where it is whole, else with one; for reading. */
export function short(value: number): string {
  return written(plain(value, 1).replace(/\.0$/, ""));
}

/** Whether thousands were typed as the page shows them, so that the mark may be a decimal one as well. */
export function isGrouped(text: string): boolean {
  const mark = written("1,000").charAt(1);
  return /^[1-9]\d{0,2}([.,]\d{3})+$/.test(text.trim()) && text.includes(mark);
}

/** The number that was typed, with a point or a comma; NaN where it is none, or may be either of two. */
export function parse(text: string): number {
  const typed = isGrouped(text) ? "" : text.trim().replace(",", ".");
  return /^-?(\d+\.?\d*|\.\d+)$/.test(typed) ? Number(typed) : NaN;
}
