// Dragging a stop with mouse, pen or finger: by its number everywhere, by its row with a mouse.
import type { Desk } from "./desk";
import { mark, placeAt, type Place } from "./places";

const BEGINS = 6; // pixels; less is a press
const EDGE = 48; // pixels from the end of the board within which it scrolls by itself
const WAIT_MS = 450; // over a day before that day is shown

export class Dragging {
  private visit = "";
  private name = "";
  private from = { x: 0, y: 0 };
  private ghost: HTMLElement | null = null;
  private place: Place | null = null;
  private out = false;
  private day: { label: Element; timer: number } | null = null;

  constructor(
    private readonly page: HTMLElement,
    private readonly desk: Desk,
  ) {
    page.addEventListener("pointerdown", (event) => this.begin(event));
    window.addEventListener("pointermove", (event) => this.follow(event));
    window.addEventListener("pointerup", (event) => this.drop(event));
    window.addEventListener("pointercancel", () => this.end());
    window.addEventListener("keydown", (event) => event.key === "Escape" && this.end());
  }

  private begin(event: PointerEvent): void {
    const target = event.target as Element;
    const owner = target.closest<HTMLElement>("[data-visit]");
    const grip = target.closest("[data-move]");
    if (!owner || event.button !== 0 || target.closest("a") || (event.pointerType !== "mouse" && !grip)) return;
    this.visit = owner.dataset["visit"] ?? "";
    this.name = owner.dataset["name"] ?? "";
    this.from = { x: event.clientX, y: event.clientY };
  }

  private follow(event: PointerEvent): void {
    if (!this.visit) return;
    const { clientX: x, clientY: y } = event;
    if (!this.ghost) {
      if (Math.hypot(x - this.from.x, y - this.from.y) < BEGINS) return;
      this.ghost = document.createElement("p");
      this.ghost.className = "ghost";
      this.ghost.textContent = this.name;
      document.body.append(this.ghost);
      document.body.classList.add("is-dragging");
      window.getSelection()?.removeAllRanges();
    }
    this.ghost.style.transform = `translate(${x + 12}px, ${y + 8}px)`;
    this.place = placeAt(this.page, x, y, this.visit);
    mark(this.page, this.place);
    const unplaced = document.elementFromPoint(x, y)?.closest("[data-unplaced]");
    this.out = unplaced !== null && unplaced !== undefined;
    this.scroll(y);
    this.overDay(document.elementFromPoint(x, y)?.closest(".filter .days label") ?? null);
  }

  private drop(event: PointerEvent): void {
    const { visit, place, out } = this;
    const moved = this.ghost !== null;
    this.end();
    if (!moved) return;
    // the click that follows a drag must not open or select anything
    window.addEventListener("click", swallow, { capture: true, once: true });
    window.setTimeout(() => window.removeEventListener("click", swallow, { capture: true }), 0);
    event.preventDefault();
    if (place) void this.desk.move(visit, place);
    else if (out) void this.desk.takeOut(visit);
  }

  private end(): void {
    this.visit = "";
    this.ghost?.remove();
    this.ghost = null;
    this.place = null;
    this.overDay(null);
    mark(this.page, null);
    document.body.classList.remove("is-dragging");
  }

  private scroll(y: number): void {
    const board = this.page.querySelector<HTMLElement>(".board");
    if (!board) return;
    const inner = board.scrollHeight > board.clientHeight + 1;
    const { top, bottom } = inner ? board.getBoundingClientRect() : { top: 0, bottom: window.innerHeight };
    const by = y < top + EDGE ? -14 : y > bottom - EDGE ? 14 : 0;
    if (by) (inner ? board : window).scrollBy(0, by);
  }

  /** A day that the drag rests on is shown. */
  private overDay(label: Element | null): void {
    if (this.day?.label === label) return;
    if (this.day) window.clearTimeout(this.day.timer);
    const input = label?.querySelector("input");
    this.day = label && input ? { label, timer: window.setTimeout(() => input.click(), WAIT_MS) } : null;
  }
}

function swallow(event: Event): void {
  event.stopPropagation();
  event.preventDefault();
}
