// What is under a finger or being written in must not be drawn anew: a tap on what was replaced
// meanwhile does nothing, and the next key goes nowhere.
const TAP_MS = 300; // milliseconds in which a tap comes after the finger was lifted

let isTouched = false; // a finger is on the page, or its tap may still come
let lifting = 0;

/** Watch fingers and the mouse; `lifted` is called once a tap has come. */
export function watchTouch(lifted: () => void): void {
  const touch = (): void => {
    window.clearTimeout(lifting);
    isTouched = true;
  };
  const lift = (): void => {
    window.clearTimeout(lifting);
    lifting = window.setTimeout(() => {
      isTouched = false;
      lifted();
    }, TAP_MS);
  };
  window.addEventListener("pointerdown", touch, true);
  for (const end of ["pointerup", "pointercancel"]) window.addEventListener(end, lift, true);
}

/** Whether somebody is typing or tapping in this part of the page. */
export function isHeld(part: HTMLElement): boolean {
  const at = document.activeElement;
  return isTouched || (part.contains(at) && (at?.matches("input, textarea, select") ?? false));
}
