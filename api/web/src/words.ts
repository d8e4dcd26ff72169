// What the scripts say, in the reader's language: the page brings the words where it is not English.

interface Kept {
  said: Record<string, string | string[]>;
  plural: number[]; // place of the form for each number below 200
}

type Values = Record<string, string | number>;

const data = typeof document === "undefined" ? null : document.getElementById("script-words");
const kept: Kept = data ? (JSON.parse(data.textContent ?? "") as Kept) : { said: {}, plural: [] };

function filled(words: string, values: Values): string {
  const told = (value?: string | number): string => (typeof value === "number" ? written(String(value)) : (value ?? ""));
  return words.replace(/\{(\w+)\}/g, (whole, name: string) => (name in values ? told(values[name]) : whole));
}

const signs: Record<string, { ".": string; ",": string }> = {}; // of the numbers of each language

function signsOf(language: string): { ".": string; ",": string } {
  const parts = new Intl.NumberFormat(language).formatToParts(1234567.8);
  const sign = (type: string): string => parts.find((one) => one.type === type)?.value ?? "";
  return { ".": sign("decimal"), ",": sign("group") };
}

/** A number as the language of the page writes it, of one in the way of the source, as "1,234.5". */
export function written(figure: string): string {
  const language = typeof document === "undefined" ? "" : document.documentElement.lang;
  if (language === "" || language === "en") return figure;
  const known = (signs[language] ??= signsOf(language));
  return figure.replace(/[.,]/g, (one) => known[one as "." | ","]);
}

/** Marks a text for the catalogue that is said later, by `_`. */
export function N_(text: string): string {
  return text;
}

/** A sentence by its English, with `{name}` for each value. */
export function _(text: string, values: Values = {}): string {
  const said = kept.said[text];
  return filled(typeof said === "string" ? said : text, values);
}

/** The language of the page, as dates are written in it. */
export function locale(): string {
  const language = document.documentElement.lang;
  return language === "" || language === "en" ? "en-GB" : language;
}

/** A number as the language of the page writes it, with so many decimals. */
export function figure(value: number, decimals = 0): string {
  return written(value.toLocaleString("en-US", { minimumFractionDigits: decimals, maximumFractionDigits: decimals }));
}

/** A sentence with a number in it, `{n}`. */
export function counted(one: string, many: string, n: number, values: Values = {}): string {
  const forms = kept.said[one];
  const form = Array.isArray(forms) ? forms[kept.plural[n < 200 ? n : 100 + (n % 100)] ?? 0] : undefined;
  return filled(form ?? (n === 1 ? one : many), { n: figure(n), ...values });
}
