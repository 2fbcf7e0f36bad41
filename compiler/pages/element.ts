// Elements made from values. Text from a plan only ever becomes text nodes and attribute values.

export type Child = Node | string | null;
type Attributes = Record<string, string | number | boolean | null>;

export function setAttributes(node: Element, attributes: Attributes): void {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === false) continue;
    node.setAttribute(name, value === true ? "" : String(value));
  }
}

function fill<T extends Element>(node: T, attributes: Attributes, children: Child[]): T {
  setAttributes(node, attributes);
  for (const child of children) {
    if (child !== null) node.append(child);
  }
  return node;
}

export function element<K extends keyof HTMLElementTagNameMap>(
  name: K, attributes: Attributes = {}, ...children: Child[]): HTMLElementTagNameMap[K] {
  return fill(document.createElement(name), attributes, children);
}

export function drawing<K extends keyof SVGElementTagNameMap>(
  name: K, attributes: Attributes = {}, ...children: Child[]): SVGElementTagNameMap[K] {
  return fill(document.createElementNS("http://www.w3.org/2000/svg", name), attributes, children);
}

export function section(id: string, title: string, ...children: Child[]): HTMLElement {
  return element("section", { id, "aria-labelledby": `${id}-title` },
    element("h2", { id: `${id}-title` }, title), ...children);
}

export interface Column {
  title: string;
  kind?: "number" | "name" | "text";
}

export function table(caption: string, columns: Column[], rows: HTMLTableRowElement[]): HTMLElement {
  const head = columns.map((column) => element("th", { scope: "col", class: column.kind ?? "text" }, column.title));
  return element("div", { class: "scroll", tabindex: 0, role: "group", "aria-label": caption },
    element("table", {},
      element("caption", { class: "unseen" }, caption),
      element("thead", {}, element("tr", {}, ...head)),
      element("tbody", {}, ...rows)));
}

export function cell(kind: "number" | "name" | "text", ...children: Child[]): HTMLTableCellElement {
  return element("td", { class: kind }, ...children);
}

// The cell that says what its row is about.
export function heading(kind: "number" | "name" | "text", ...children: Child[]): HTMLTableCellElement {
  return element("th", { class: kind, scope: "row" }, ...children);
}
