// One selected stop, by mouse or keyboard: arrows move through the stops, Enter goes to the map,
// Escape lets go.

export class Selection {
  private readonly rows: HTMLElement[];
  private selected: HTMLElement | null = null;

  constructor(
    root: HTMLElement,
    private readonly onSelect: (key: string, zoom: boolean) => void,
  ) {
    this.rows = [...root.querySelectorAll<HTMLElement>("[data-stop]")];
    for (const row of this.rows) {
      row.addEventListener("click", () => this.take(row, false));
      row.addEventListener("focus", () => this.take(row, false));
      row.addEventListener("keydown", (event) => this.onKey(event, row));
    }
    this.keepOneTabStop();
  }

  /** Select the stop of this key and bring its row into view. */
  pick(key: string): void {
    const row = this.rows.find((one) => one.dataset["stop"] === key);
    if (!row) return;
    this.take(row, false);
    row.scrollIntoView({ block: "center", behavior: "smooth" });
  }

  /** Select the stop of this key and put the keyboard there. */
  focus(key: string): void {
    this.rows.find((one) => one.dataset["stop"] === key)?.focus({ preventScroll: true });
  }

  /** Only one visible row is reached by Tab; arrows lead to the others. */
  keepOneTabStop(): void {
    const visible = this.visible();
    const current = this.selected && visible.includes(this.selected) ? this.selected : visible[0];
    for (const row of this.rows) row.tabIndex = row === current ? 0 : -1;
    if (this.selected && current !== this.selected) this.clear();
  }

  private visible(): HTMLElement[] {
    return this.rows.filter((row) => row.offsetParent !== null);
  }

  private take(row: HTMLElement, zoom: boolean): void {
    if (this.selected !== row) {
      this.selected?.removeAttribute("aria-current");
      this.selected = row;
      row.setAttribute("aria-current", "true");
      for (const one of this.rows) one.tabIndex = one === row ? 0 : -1;
    } else if (!zoom) {
      return;
    }
    this.onSelect(row.dataset["stop"] ?? "", zoom);
  }

  private clear(): void {
    this.selected?.removeAttribute("aria-current");
    this.selected = null;
    this.onSelect("", false);
  }

  private onKey(event: KeyboardEvent, row: HTMLElement): void {
    const rows = this.visible();
    const at = rows.indexOf(row);
    const steps: Record<string, HTMLElement | undefined> = {
      ArrowDown: rows[at + 1],
      ArrowUp: rows[at - 1],
      Home: rows[0],
      End: rows[rows.length - 1],
    };
    if (event.key in steps) steps[event.key]?.focus();
    else if (event.key === "Enter") this.take(row, true);
    else if (event.key === "Escape") this.clear();
    else return;
    event.preventDefault();
  }
}
