// A link that is shown is copied with one press; where the browser does not allow it (over plain
// http, or when it was denied), the link is selected instead, to be copied by hand.
for (const button of document.querySelectorAll<HTMLButtonElement>("[data-copy]")) {
  const field = document.getElementById(button.dataset["copy"] ?? "") as HTMLInputElement | null;
  const told = document.querySelector("[data-told]");
  if (!field || !told) continue;
  button.hidden = false;
  button.addEventListener("click", () => {
    const select = (): void => {
      field.focus();
      field.select();
      told.textContent = button.dataset["selected"] ?? "";
    };
    // without a secure connection browsers have no clipboard, whatever the types of the library say
    const clipboard = navigator.clipboard as Clipboard | undefined;
    if (!clipboard) return select();
    clipboard.writeText(field.value).then(() => {
      told.textContent = button.dataset["copied"] ?? "";
    }, select);
  });
}
