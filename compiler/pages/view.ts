// What stretch of time the course shows, and where its one cursor stands. All times are seconds since the
// load's begin.

export class View {
  readonly first: number;
  readonly last: number;
  from: number;
  to: number;
  cursor: number | null = null;
  pinned = false;
  private readonly rangeListeners: (() => void)[] = [];
  private readonly cursorListeners: (() => void)[] = [];
  private readonly showListeners: (() => void)[] = [];

  // `begin` is the load's begin on the UTC clock face, in milliseconds.
  constructor(readonly begin: number, first: number, last: number) {
    this.first = first;
    this.last = Math.max(last, first + 1);
    this.from = this.first;
    this.to = this.last;
  }

  onRange(listener: () => void): void {
    this.rangeListeners.push(listener);
  }
  onCursor(listener: () => void): void {
    this.cursorListeners.push(listener);
  }
  onShow(listener: () => void): void {
    this.showListeners.push(listener);
  }

  setRange(from: number, to: number): void {
    const width = Math.min(Math.max(to - from, 60), this.last - this.first);
    this.from = Math.min(Math.max((from + to - width) / 2, this.first), this.last - width);
    this.to = this.from + width;
    this.rangeListeners.forEach((listener) => listener());
  }

  showSpan(): void {
    this.setRange(0, this.last);
  }

  // Around the cursor when it is in sight, else around the middle.
  zoom(factor: number): void {
    const middle = (this.from + this.to) / 2;
    const still = this.cursor !== null && this.cursor >= this.from && this.cursor <= this.to ? this.cursor : middle;
    this.setRange(still - (still - this.from) * factor, still + (this.to - still) * factor);
  }

  pan(share: number): void {
    const step = (this.to - this.from) * share;
    this.setRange(this.from + step, this.to + step);
  }

  setCursor(offset: number | null, pinned = this.pinned): void {
    this.cursor = offset === null ? null : Math.min(Math.max(offset, this.first), this.last);
    this.pinned = pinned && offset !== null;
    this.cursorListeners.forEach((listener) => listener());
  }

  // Leads the reader to a time.
  show(offset: number): void {
    this.reach(offset);
    this.showListeners.forEach((listener) => listener());
  }

  // Cursor there and held, in sight.
  reach(offset: number): void {
    if (offset < this.from || offset > this.to) {
      const half = (this.to - this.from) / 2;
      this.setRange(offset - half, offset + half);
    }
    this.setCursor(offset, true);
  }
}
