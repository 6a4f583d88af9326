// Making elements of the page without a framework: one function, attributes as an object, children
// behind. Text is always text, never markup.

type Child = Node | string | null | undefined | false;
type Attributes = Record<string, string | number | boolean | null | undefined | ((event: never) => void)>;

/**
 * An element. An attribute that starts with `on` and holds a function listens to that event; `true`
 * is an empty attribute; `false`, `null` and `undefined` are left out.
 */
export function element<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Attributes = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") made.addEventListener(name.slice(2), value as EventListener);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, String(value));
  }
  fill(made, ...children);
  return made;
}

/** Replaces what an element holds. */
export function fill(parent: Element, ...children: Child[]): void {
  parent.replaceChildren(...children.filter((child): child is Node | string => !!child || child === ""));
}

/** The element of `index.html` with this id. */
export function byId<T extends HTMLElement = HTMLElement>(id: string): T {
  const found = document.getElementById(id);
  if (!found) throw new Error(`index.html has no #${id}`);
  return found as T;
}

/** Sets an input's value, unless somebody is typing in it. */
export function setValue(input: HTMLInputElement | HTMLSelectElement, value: string): void {
  if (document.activeElement !== input && input.value !== value) input.value = value;
}

let numbered = 0;
/** An id nobody else has, to tie labels to their inputs. */
export function freshId(): string {
  numbered += 1;
  return `n${numbered}`;
}
