// Sending an extract with its progress; without this script the form does the same in silence.
import { _, figure } from "./words";

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
  if (figures) figures.textContent = _("{sent} of {all} MB", { sent: figure(sent / MB, 1), all: figure(all / MB, 1) });
}

/** What the service answered, as a sentence; it answers in other words than JSON never. */
function sentenceOf(call: XMLHttpRequest): string {
  return (JSON.parse(call.responseText) as { detail: string }).detail;
}

/** Stop a job; also while the page is being left. */
function stopJob(id: string): void {
  void fetch(`/api/jobs/${id}/stop`, { method: "POST", keepalive: true });
}

/**
 * Send the extract. Stop ends the sending while it lasts; once all is sent the service may have
 * begun to build, so that the job itself is stopped, as soon as its id is known.
 */
function send(page: Parts): void {
  const call = new XMLHttpRequest();
  let sent = false;
  let unwanted = false;
  let id = "";
  call.upload.addEventListener("progress", (event) => showSent(page, event.loaded, event.total));
  call.upload.addEventListener("load", () => (sent = true));
  call.addEventListener("load", () => {
    if (call.status === 202) {
      id = (JSON.parse(call.responseText) as { id: string }).id;
      if (unwanted) stopJob(id);
      window.location.assign(`/map?job=${id}`);
    } else {
      end(page, sentenceOf(call));
    }
  });
  call.addEventListener("error", () => end(page, _("The service could not be reached, or the file changed meanwhile: try again.")));
  // The last bytes may have arrived all the same: then the page shows the building, with its Stop.
  call.addEventListener("abort", () => window.location.assign("/map"));
  const stop = page.sending.querySelector("button");
  if (stop) {
    stop.onclick = () => {
      if (!sent) {
        call.abort();
        return;
      }
      unwanted = true;
      stop.disabled = true;
      if (id) stopJob(id);
    };
  }
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
    end(page, _("'{name}' is larger than {most}: cut it to the area that you serve.", { name: chosen.name, most: page.form.dataset["most"] ?? "" }));
  } else {
    send(page);
  }
});
