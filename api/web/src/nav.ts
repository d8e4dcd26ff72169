/** The groups of pages in the header: one open at a time, closed by Escape or a look elsewhere.
 *  And the way back to a form that was refused, as the browser keeps it: with what was typed. */

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

document.querySelector("[data-back]")?.addEventListener("click", (event) => {
  if (history.length < 2) return; // opened by itself: the address of the form will do
  event.preventDefault();
  history.back();
});
