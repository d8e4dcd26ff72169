// The desk of a week: what is asked of the service, and what it says, in one place.
import { _ } from "./words";

export interface Where {
  technician: string;
  day: string;
  position: number | null; // stops before it there; null: where it fits best
}

interface Told {
  version: number;
  what: string;
  new: string[];
  difference: { before: { drive_s: number }; after: { drive_s: number } };
}

const SHOWN_S = 12_000; // milliseconds that a message stays

/** Calls of one week's desk; after every change the page's parts are fetched anew. */
export class Desk {
  private timer = 0;

  constructor(
    private readonly page: HTMLElement,
    private readonly refresh: (focus: string) => Promise<void>,
  ) {}

  get week(): string {
    return this.page.dataset["week"] ?? "";
  }

  /** Move a visit, or only tell what that would do. */
  move(visit: string, to: Where): Promise<void> {
    return this.edit(visit, { deed: "move", visit_id: visit, technician_id: to.technician, day: to.day, position: to.position });
  }

  takeOut(visit: string): Promise<void> {
    return this.edit(visit, { deed: "take-out", visit_id: visit });
  }

  /** Let upkeep ride on a visit, or put it off (no visit). */
  async carry(upkeep: string, visit: string): Promise<void> {
    await this.edit("", { deed: "carry", upkeep_id: upkeep, visit_id: visit || null });
    document.getElementById("upkeep")?.focus();
  }

  /** What a move would do, in words; nothing is saved. */
  async wouldDo(visit: string, to: Where): Promise<string> {
    const step = { deed: "move", visit_id: visit, technician_id: to.technician, day: to.day, position: to.position };
    const told = await this.call<Told>(`/api/weeks/${this.week}/edits`, { version: this.version, edits: [step], save: false });
    return effect(told);
  }

  /** Send one of the page's own forms, and show what it has changed. */
  async send(address: string, fields: Record<string, string>, focus = ""): Promise<void> {
    const body: Record<string, unknown> = { ...fields };
    if ("version" in body) body["version"] = this.version;
    await this.changing(async () => {
      await this.call(address, body);
      await this.refresh(focus);
    });
  }

  say(words: string, warn = false): void {
    const said = this.page.querySelector<HTMLElement>("[data-said]");
    if (!said) return;
    said.textContent = words;
    said.hidden = words === "";
    said.classList.toggle("warn", warn);
    window.clearTimeout(this.timer);
    if (!warn) this.timer = window.setTimeout(() => (said.hidden = true), SHOWN_S);
  }

  private get version(): number {
    return Number(this.page.dataset["version"] ?? 0);
  }

  private edit(visit: string, step: object): Promise<void> {
    return this.changing(async () => {
      const told = await this.call<Told>(`/api/weeks/${this.week}/edits`, { version: this.version, edits: [step] });
      await this.refresh(visit);
      this.say(`${told.what}. ${effect(told)}`, told.new.length > 0);
    });
  }

  private async changing(deed: () => Promise<void>): Promise<void> {
    this.page.setAttribute("aria-busy", "true");
    try {
      await deed();
    } catch (error) {
      this.say(error instanceof Error ? error.message : String(error), true);
    } finally {
      this.page.removeAttribute("aria-busy");
    }
  }

  private async call<T>(address: string, body: object): Promise<T> {
    const answer = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    const said = (await answer.json()) as T & { detail?: string };
    if (!answer.ok) throw new Error(said.detail ?? _("The service did not answer as expected."));
    return said;
  }
}

function effect({ difference, new: broken }: Told): string {
  const minutes = Math.round((difference.after.drive_s - difference.before.drive_s) / 60);
  const drive = minutes === 0 ? _("The week's driving stays as it is.") : minutes > 0 ? _("Driving: {minutes} min more.", { minutes }) : _("Driving: {minutes} min less.", { minutes: -minutes });
  return [drive, ...broken].join(" ");
}
