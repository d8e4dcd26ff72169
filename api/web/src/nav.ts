/** The groups of pages in the header: one open at a time, closed by Escape or a look elsewhere. */

const groups = [...document.querySelectorAll<HTMLDetailsElement>(".top nav details")];

function close(but?: HTMLDetailsElement): void {
  for (const one of groups) if (one !== but) one.open = false;
}

for (const group of groups) {
  group.addEventListener("toggle", () => group.open && close(group));
  group.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !group.open) return;
    event.stopPropagation();
    close();
    group.querySelector("summary")?.focus();
  });
  group.addEventListener("focusout", (event) => {
    if (event.relatedTarget instanceof Node && !group.contains(event.relatedTarget)) close();
  });
}
document.addEventListener("click", (event) => {
  if (!groups.some((one) => one.contains(event.target as Node))) close();
});
