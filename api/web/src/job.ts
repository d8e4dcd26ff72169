// A planning job's progress, live; the page is read anew when the job is over.

interface JobEvent {
  state: string;
  is_over: boolean;
  detail: string;
  progress: { iteration: number; iterations: number; share: number; unplaced: number } | null;
}

const WORDS: Record<string, string> = {
  waiting: "Waiting for another week to finish",
  running: "Planning",
  stopping: "Stopping, keeping the best plan so far",
};

function show(panel: HTMLElement, job: JobEvent): void {
  const bar = panel.querySelector("progress");
  const words = panel.querySelector<HTMLElement>("[data-words]");
  const figures = panel.querySelector<HTMLElement>("[data-figures]");
  if (!bar || !words || !figures) return;
  if (words.textContent !== WORDS[job.state]) words.textContent = WORDS[job.state] ?? job.state;
  if (!job.progress) return;
  bar.value = job.progress.share;
  const rounds = `${job.progress.iteration.toLocaleString("en-US")} of ${job.progress.iterations.toLocaleString("en-US")} rounds`;
  const unplaced = job.progress.unplaced === 0 ? "every visit placed" : `${job.progress.unplaced} unplaced`;
  figures.textContent = `${rounds} · ${unplaced}`;
}

function follow(panel: HTMLElement): void {
  const events = new EventSource(`/api/jobs/${panel.dataset["job"]}/events`);
  events.addEventListener("job", (event) => {
    const job = JSON.parse((event as MessageEvent<string>).data) as JobEvent;
    show(panel, job);
    if (job.is_over) {
      events.close();
      window.location.reload();
    }
  });
}

for (const panel of document.querySelectorAll<HTMLElement>("[data-job]")) follow(panel);
