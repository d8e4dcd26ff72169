// "Move to ...": technician, day and place chosen from lists, with what it would do before it is done.
import type { Desk, Where } from "./desk";
import { placesIn } from "./places";
import { _ } from "./words";

export class MoveDialog {
  private readonly dialog: HTMLDialogElement | null;
  private visit = "";
  private asked = 0;

  constructor(
    private readonly page: HTMLElement,
    private readonly desk: Desk,
  ) {
    this.dialog = page.querySelector<HTMLDialogElement>("#move");
    page.addEventListener("click", (event) => {
      const button = (event.target as Element).closest("[data-move]");
      const owner = button?.closest<HTMLElement>("[data-visit]");
      if (owner) this.open(owner);
    });
    this.dialog?.addEventListener("change", (event) => this.changed(event.target as HTMLSelectElement));
    this.dialog?.addEventListener("close", () => this.closed());
  }

  private open(owner: HTMLElement): void {
    if (!this.dialog) return;
    this.visit = owner.dataset["visit"] ?? "";
    const route = owner.closest<HTMLElement>("[data-route]");
    const shown = this.page.querySelector<HTMLInputElement>(".filter [name=day]:checked")?.value;
    if (route) this.list("technician").value = route.dataset["technician"] ?? "";
    const day = route?.dataset["day"] ?? shown;
    if (day) this.list("day").value = day;
    this.dialog.querySelector("h2")!.textContent = _("Move {name}", { name: owner.dataset["name"] ?? "" });
    this.button("out").hidden = route === null;
    this.button("lock").hidden = route === null;
    this.button("lock").textContent = "locked" in owner.dataset ? _("Unlock it") : _("Lock it");
    this.dialog.dataset["deed"] = "locked" in owner.dataset ? "/remove" : "";
    this.fill();
    this.dialog.returnValue = "cancel";
    this.dialog.showModal();
    this.list("technician").focus();
  }

  private fill(): void {
    const { technician, day } = this.chosen();
    const places = placesIn(this.page, technician, day, this.visit);
    const best = new Option(_("where it fits best"), "");
    this.list("position").replaceChildren(best, ...places.map((one) => new Option(one.words, String(one.position))));
    void this.tryIt();
  }

  private changed(list: HTMLSelectElement): void {
    if (list.name === "position") void this.tryIt();
    else this.fill();
  }

  /** Say what the move would do; an answer that comes late is dropped. */
  private async tryIt(): Promise<void> {
    const mine = ++this.asked;
    const told = this.dialog?.querySelector<HTMLElement>("[data-tried]");
    if (!told) return;
    let words: string;
    try {
      words = await this.desk.wouldDo(this.visit, this.chosen());
    } catch (error) {
      words = error instanceof Error ? error.message : String(error);
    }
    if (mine === this.asked) told.textContent = words;
  }

  private closed(): void {
    const deed = this.dialog?.returnValue;
    if (deed === "move") void this.desk.move(this.visit, this.chosen());
    else if (deed === "out") void this.desk.takeOut(this.visit);
    else if (deed === "lock") {
      const address = `/api/weeks/${this.desk.week}/locks${this.dialog?.dataset["deed"] ?? ""}`;
      void this.desk.send(address, { kind: "stop", visit_id: this.visit }, this.visit);
    }
  }

  private chosen(): Where {
    const position = this.list("position").value;
    return {
      technician: this.list("technician").value,
      day: this.list("day").value,
      position: position === "" ? null : Number(position),
    };
  }

  private list(name: string): HTMLSelectElement {
    return this.dialog!.querySelector<HTMLSelectElement>(`[name=${name}]`)!;
  }

  private button(value: string): HTMLButtonElement {
    return this.dialog!.querySelector<HTMLButtonElement>(`button[value=${value}]`)!;
  }
}
