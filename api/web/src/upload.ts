// Sending an extract with its progress; without this script the form does the same in silence.

const MB = 1e6;

interface Parts {
  form: HTMLFormElement;
  file: HTMLInputElement;
  sending: HTMLElement;
  fault: HTMLElement;
}

function parts(): Parts | null {
  const form = document.querySelector<HTMLFormElement>("#upload");
  const file = form?.querySelector<HTMLInputElement>("input[type=file]");
  const sending = document.getElementById("sending");
  const fault = document.getElementById("upload-fault");
  return form && file && sending && fault ? { form, file, sending, fault } : null;
}

/** Show the form again, with a sentence when there is one. */
function end({ form, sending, fault }: Parts, sentence: string): void {
  form.hidden = false;
  sending.hidden = true;
  fault.hidden = sentence === "";
  fault.textContent = sentence;
}

function showSent({ sending }: Parts, sent: number, all: number): void {
  const bar = sending.querySelector("progress");
  const figures = sending.querySelector<HTMLElement>("[data-figures]");
  if (bar) bar.value = sent / (all || 1);
  if (figures) figures.textContent = `${(sent / MB).toFixed(1)} of ${(all / MB).toFixed(1)} MB`;
}

/** What the service answered, as a sentence; it answers in other words than JSON never. */
function sentenceOf(call: XMLHttpRequest): string {
  return (JSON.parse(call.responseText) as { detail: string }).detail;
}

function send(page: Parts): void {
  const call = new XMLHttpRequest();
  call.upload.addEventListener("progress", (event) => showSent(page, event.loaded, event.total));
  call.addEventListener("load", () => {
    if (call.status === 202) {
      const job = JSON.parse(call.responseText) as { id: string };
      window.location.assign(`/map?job=${job.id}`);
    } else {
      end(page, sentenceOf(call));
    }
  });
  call.addEventListener("error", () => end(page, "The service could not be reached, or the file changed meanwhile: try again."));
  call.addEventListener("abort", () => end(page, ""));
  const stop = page.sending.querySelector("button");
  if (stop) stop.onclick = () => call.abort();
  call.open("POST", "/api/map");
  call.send(new FormData(page.form));
  page.form.hidden = true;
  page.fault.hidden = true;
  page.sending.hidden = false;
  stop?.focus();
}

const page = parts();
page?.form.addEventListener("submit", (event) => {
  event.preventDefault();
  const chosen = page.file.files?.[0];
  if (!chosen) return;
  if (chosen.size > Number(page.form.dataset["mostBytes"])) {
    end(page, `'${chosen.name}' is larger than ${page.form.dataset["most"]}: cut it to the area that you serve.`);
  } else {
    send(page);
  }
});
