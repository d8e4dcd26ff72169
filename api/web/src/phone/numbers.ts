// Numbers as the service writes them, so that phone and office show the same figure.

/** `value` with `places` decimals and commas; exact halves go to the even digit, as in the service. */
export function fixed(value: number, places: number, signed = false): string {
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

/** Six digits at most and no trailing zeros. */
export function general(value: number): string {
  return String(Number(value.toPrecision(6)));
}

/** The number that was typed, with a point or a comma; NaN where it is none. */
export function parse(text: string): number {
  const plain = text.trim().replace(",", ".");
  return /^-?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : NaN;
}
