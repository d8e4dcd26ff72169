// The phone's clock and calendar. Only in a rehearsal, where the service's day is fixed, is the
// phone's date moved to that day; otherwise what the phone's clock says is what is entered.
import { _, locale } from "../words";

const DAY_S = 86_400;
const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;
let shiftMs = 0; // milliseconds, whole days

/** Local date of a moment, ISO 8601. */
export function dayOf(at: Date): string {
  const two = (value: number): string => String(value).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

/** Move the phone's date to the day of the rehearsal. */
export function rehearse(day: string): void {
  shiftMs = Math.round((Date.parse(day) - Date.parse(dayOf(new Date()))) / DAY_MS) * DAY_MS;
}

export function now(): Date {
  return new Date(Date.now() + shiftMs);
}

export function today(): string {
  return dayOf(now());
}

/** Noon of a day, from which its seconds are counted: they never jump, whatever the clocks do. */
function noonOf(day: string): Date {
  const [year = 0, month = 1, date = 1] = day.split("-").map(Number);
  return new Date(year, month - 1, date, 12);
}

/** The day so many days before a day. */
export function daysBefore(day: string, days: number): string {
  const noon = noonOf(day);
  noon.setDate(noon.getDate() - days);
  return dayOf(noon);
}

/** The name of the zone in the hour that comes twice when the clocks go back; else nothing. */
function nameWhereTwice(at: Date): string {
  const behind = (hours: number): number => new Date(at.getTime() + hours * HOUR_MS).getTimezoneOffset() - at.getTimezoneOffset();
  if (behind(1) <= 0 && behind(-1) >= 0) return "";
  const parts = new Intl.DateTimeFormat("en-US", { timeZoneName: "short" }).formatToParts(at);
  return ` ${parts.find((one) => one.type === "timeZoneName")?.value ?? ""}`;
}

/**
 * Seconds of a working day as clocks show the time, of 24 hours; after a night shift's midnight with
 * (+1) behind it, and with the zone in the hour that comes twice. As `clock_time` of the service.
 */
export function clock(day: string, seconds: number): string {
  const noon = noonOf(day);
  const at = new Date(noon.getTime() + (seconds - DAY_S / 2) * 1000);
  const shown = seconds + (noon.getTimezoneOffset() - at.getTimezoneOffset()) * 60;
  const later = Math.max(0, Math.ceil(shown / DAY_S) - 1);
  const minutes = Math.floor((shown - later * DAY_S) / 60);
  const time = `${String(Math.floor(minutes / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}${nameWhereTwice(at)}`;
  return later > 0 ? `${time} (+${later})` : time;
}

/**
 * Whether a working day goes on at a moment: on the day itself, and after its midnight until a night
 * shift is to end. A night shift that was begun and not ended goes on until noon, or until the next
 * shift begins; work of the day is over at midnight, because its end is often forgotten. As
 * `working_day` of the service.
 *
 * @param untilS when the work is to end, in seconds from noon minus 12 hours
 * @param mark   what was entered last of the shift: "shift-started", "shift-ended" or nothing
 * @param overS  when work that nobody ended is over, as the next shift begins
 */
export function goesOn(day: string, untilS: number, mark: string, at: Date, overS = Infinity): boolean {
  const noon = noonOf(day);
  if (dayOf(at) === day) return true;
  const next = new Date(noon);
  next.setDate(noon.getDate() + 1);
  if (untilS <= DAY_S || mark === "shift-ended" || dayOf(at) !== dayOf(next)) return false;
  const seconds = (at.getTime() - noon.getTime()) / 1000 + DAY_S / 2;
  return seconds < untilS || (mark === "shift-started" && seconds < overS && at.getHours() < 12);
}

export function timeOf(at: string): string {
  const moment = new Date(at);
  return `${String(moment.getHours()).padStart(2, "0")}:${String(moment.getMinutes()).padStart(2, "0")}`;
}

export function duration(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  return minutes < 60 ? _("{minutes} min", { minutes }) : _("{hours} h {rest}", { hours: Math.floor(minutes / 60), rest: String(minutes % 60).padStart(2, "0") });
}

/** A day in words, as "Monday 30 November". */
export function longDay(day: string): string {
  const [year = 0, month = 1, date = 1] = day.split("-").map(Number);
  return new Intl.DateTimeFormat(locale(), { weekday: "long", day: "numeric", month: "long" }).format(
    new Date(year, month - 1, date),
  );
}
