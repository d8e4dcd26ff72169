// A job's progress, live; the page is read anew when the job is over, or when its reader says so.
import { _, figure } from "./words";

interface JobEvent {
  state: string;
  is_over: boolean;
  line: string;
  progress?: { iteration: number; iterations: number; share: number; unplaced: number } | null;
}

function figuresOf({ line, progress }: JobEvent): string {
  if (!progress) return line;
  const rounds = _("{done} of {all} rounds", { done: figure(progress.iteration), all: figure(progress.iterations) });
  return `${rounds} · ${progress.unplaced === 0 ? _("every visit placed") : _("{number} unplaced", { number: progress.unplaced })}`;
}

function show(panel: HTMLElement, job: JobEvent): void {
  const bar = panel.querySelector("progress");
  const words = panel.querySelector<HTMLElement>("[data-words]");
  const figures = panel.querySelector<HTMLElement>("[data-figures]");
  if (!bar || !words || !figures) return;
  const said = panel.dataset[job.state];
  if (said && words.textContent !== said) words.textContent = said;
  if (job.progress) bar.value = job.progress.share;
  const told = figuresOf(job);
  if (told) figures.textContent = told;
}

/** Whether a form of the page is on its way, such as a Stop: reading the page anew would undo it. */
let leaving = false;
document.addEventListener("submit", () => (leaving = true));
window.addEventListener("pageshow", () => (leaving = false)); // come back to

/** Whether somebody has begun to write something here, which reading the page anew would lose. */
function isBegun(): boolean {
  return [...document.querySelectorAll<HTMLInputElement | HTMLTextAreaElement>("input:not([type=checkbox], [type=radio]), textarea")].some((one) => one.value !== one.defaultValue);
}

/** Offer what the job has led to, in place of its Stop. */
function offer(panel: HTMLElement): void {
  const words = panel.querySelector<HTMLElement>("[data-words]");
  if (words) words.textContent = _("This is over. The page waits, because something is being written here.");
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = _("Show what came of it");
  button.addEventListener("click", () => window.location.reload());
  panel.querySelector("form")?.replaceWith(button);
}

function follow(panel: HTMLElement): void {
  const events = new EventSource(`/api/jobs/${panel.dataset["job"]}/events`);
  events.addEventListener("job", (event) => {
    const job = JSON.parse((event as MessageEvent<string>).data) as JobEvent;
    show(panel, job);
    if (job.is_over) {
      events.close();
      if (leaving) return;
      if (isBegun()) offer(panel);
      else window.location.reload();
    }
  });
}

for (const panel of document.querySelectorAll<HTMLElement>("[data-job]")) follow(panel);
