// A job's progress, live; the page is read anew when the job is over.
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

function follow(panel: HTMLElement): void {
  const events = new EventSource(`/api/jobs/${panel.dataset["job"]}/events`);
  events.addEventListener("job", (event) => {
    const job = JSON.parse((event as MessageEvent<string>).data) as JobEvent;
    show(panel, job);
    if (job.is_over) {
      events.close();
      if (!leaving) window.location.reload();
    }
  });
}

for (const panel of document.querySelectorAll<HTMLElement>("[data-job]")) follow(panel);
