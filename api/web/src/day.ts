// The technician's page needs no script to be read; this keeps the checked-off load list on the
// phone for the day, so that a reload does not lose it.

const list = document.querySelector<HTMLElement>("[data-load]");

if (list) {
  const key = `load ${list.dataset["load"]}`;
  const boxes = [...list.querySelectorAll<HTMLInputElement>("input[type=checkbox]")];
  const kept = new Set(JSON.parse(localStorage.getItem(key) ?? "[]") as string[]);
  for (const box of boxes) box.checked = kept.has(box.value);
  list.addEventListener("change", () => {
    const checked = boxes.filter((box) => box.checked).map((box) => box.value);
    localStorage.setItem(key, JSON.stringify(checked));
  });
}
