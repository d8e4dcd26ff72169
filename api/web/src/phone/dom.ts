// Elements made from script; text only ever goes in as text.
import { isEcho } from "../held";

type Child = Node | string | null | undefined | false;
type Props = Record<string, string | boolean | ((event: Event) => void)>;

/** An element: `class`, attributes, `on…` listeners, then what is in it. */
export function h<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  props: Props = {},
  ...children: (Child | Child[])[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (typeof value === "function") element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false) element.setAttribute(name, value);
  }
  for (const child of children.flat()) {
    if (child !== null && child !== undefined && child !== false) element.append(child);
  }
  return element;
}

/** A button whose deed is done once for a tap, also for one that comes twice or while it is being done. */
export function button(words: string, style: string, act: () => unknown): HTMLButtonElement {
  let isBusy = false;
  const press = async (): Promise<void> => {
    if (isBusy || isEcho()) return;
    isBusy = true;
    try {
      await act();
    } finally {
      isBusy = false;
    }
  };
  return h("button", { type: "button", class: style, onclick: () => void press() }, words);
}
