// What is under a finger or being written in must not be drawn anew: a tap on what was replaced
// meanwhile does nothing, and the next key goes nowhere.
const TAP_MS = 300; // milliseconds in which a tap comes after the finger was lifted
// Gloves tap twice, and what the first tap draws may put another button under the second.
const ECHO_MS = 400; // milliseconds in which a tap at the same place belongs to the one before
const ECHO_PX = 24; // pixels that a finger may miss the same place by

let isTouched = false; // a finger is on the page, or its tap may still come
let lifting = 0;
const later: (() => void)[] = []; // once the tap has come
let last = { at: -Infinity, x: 0, y: 0 }; // tap
let drawnAt = -Infinity; // the page, anew
let isSecond = false; // the last tap belongs to the one before

/** Watch fingers and the mouse; `lifted` is called once a tap has come. */
export function watchTouch(lifted: () => void): void {
  const touch = (event: PointerEvent): void => {
    window.clearTimeout(lifting);
    isTouched = true;
    isSecond = isNear(event);
    last = { at: event.timeStamp, x: event.clientX, y: event.clientY };
  };
  const lift = (): void => {
    window.clearTimeout(lifting);
    lifting = window.setTimeout(() => {
      isTouched = false;
      for (const act of later.splice(0)) act();
      lifted();
    }, TAP_MS);
  };
  window.addEventListener("pointerdown", touch, true);
  for (const typed of ["keydown", "input"]) window.addEventListener(typed, forgetTap, true);
  for (const end of ["pointerup", "pointercancel"]) window.addEventListener(end, lift, true);
}

/** Do what moves the page once the tap has come that may be on its way: it must meet what was aimed at. */
export function afterTap(act: () => void): void {
  if (isTouched) later.push(act);
  else act();
}

/** Whether somebody is typing or tapping in this part of the page. */
export function isHeld(part: HTMLElement): boolean {
  const at = document.activeElement;
  return isTouched || (part.contains(at) && (at?.matches("input, textarea, select") ?? false));
}

/** The page was drawn anew: another button may stand where the finger is. */
export function drawnAnew(): void {
  drawnAt = performance.now();
}

/** Whether what is pressed now is pressed by the second tap of a thumb, upon what the first one drew. */
export function isEcho(): boolean {
  return isSecond;
}

/** Whoever types between two taps means both. */
function forgetTap(): void {
  isSecond = false;
  last = { ...last, at: -Infinity };
}

function isNear({ timeStamp, clientX, clientY }: PointerEvent): boolean {
  return last.at < drawnAt && timeStamp - last.at < ECHO_MS && Math.hypot(clientX - last.x, clientY - last.y) < ECHO_PX;
}
