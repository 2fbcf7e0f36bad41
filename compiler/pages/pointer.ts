// Mouse, pen and finger on the course: hovering moves the cursor, a click or a tap holds it, dragging looks closer.

import { element } from "./element";
import type { View } from "./view";

// The instant under a place on the screen; null beside the drawings.
export type OffsetAt = (clientX: number, clamp: boolean) => number | null;

const farEnoughToDrag = 6;  // pixels

export class Pointer {
  private readonly selection = element("div", { class: "selection", hidden: true });
  private pressed: { clientX: number; offset: number } | null = null;

  constructor(private readonly body: HTMLElement, private readonly view: View, private readonly offsetAt: OffsetAt) {
    body.append(this.selection);
    body.addEventListener("pointerdown", (event) => this.press(event));
    body.addEventListener("pointermove", (event) => this.hover(event));
    body.addEventListener("pointerleave", () => {
      if (!view.pinned) view.setCursor(null);
    });
    body.addEventListener("click", (event) => this.tap(event));
    addEventListener("pointermove", (event) => this.drag(event));
    addEventListener("pointerup", (event) => this.release(event));
  }

  private press(event: PointerEvent): void {
    if (event.button !== 0 || event.pointerType === "touch") return;
    const offset = this.offsetAt(event.clientX, false);
    this.pressed = offset === null ? null : { clientX: event.clientX, offset };
  }

  private hover(event: PointerEvent): void {
    if (this.view.pinned || event.pointerType === "touch") return;
    this.view.setCursor(this.offsetAt(event.clientX, false));
  }

  private drag(event: PointerEvent): void {
    if (this.pressed === null || !this.isDrag(event)) return;
    const frame = this.body.getBoundingClientRect();
    this.selection.hidden = false;
    this.selection.style.left = `${Math.min(this.pressed.clientX, event.clientX) - frame.left}px`;
    this.selection.style.width = `${Math.abs(event.clientX - this.pressed.clientX)}px`;
  }

  private release(event: PointerEvent): void {
    const start = this.pressed;
    const dragged = this.isDrag(event);
    this.pressed = null;
    this.selection.hidden = true;
    const end = start === null ? null : this.offsetAt(event.clientX, true);
    if (start === null || end === null) return;
    if (dragged) this.view.setRange(Math.min(start.offset, end), Math.max(start.offset, end));
    else this.view.setCursor(end, !this.view.pinned);
  }

  private isDrag(event: PointerEvent): boolean {
    return this.pressed !== null && Math.abs(event.clientX - this.pressed.clientX) > farEnoughToDrag;
  }

  // A finger does not hover: its tap places the cursor.
  private tap(event: MouseEvent): void {
    if (event instanceof PointerEvent && event.pointerType === "touch") {
      this.view.setCursor(this.offsetAt(event.clientX, false), true);
    }
  }
}
