/** A pane's place on the canvas, in the canvas' own pixels, `ratio` of them to a CSS pixel. */
export interface Place {
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
  readonly ratio: number
}

/** Edges in CSS pixels of the window. */
export interface Edges {
  readonly left: number
  readonly top: number
  readonly right: number
  readonly bottom: number
}

/** What the rows are scrolled in. */
export interface Scroller extends Edges {
  readonly scrollTop: number
}

/** The part of the rows that the canvas covers: the screen's pixels from the rows' own top left corner. */
export interface Extent {
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}

/** How wide, in CSS pixels, a pane is painted: from one of the screen's pixels to another. */
export function paintedWidth({ left, right }: Pick<Edges, 'left' | 'right'>, ratio: number): number {
  return Math.max(1, Math.round(right * ratio) - Math.round(left * ratio)) / ratio
}

/** Above and below what is in sight, CSS pixels: so far rows are scrolled before the canvas follows. */
export const SLACK_PX = 480
/** Less than this beyond what is in sight, and the canvas follows. */
const LEAST_PX = 160

/**
 * Where the canvas lies and the panes on it. All edges fall on the screen's pixels as the browser rounds them, so that
 * what is painted meets what is laid out.
 * @param before where the canvas lies; it stays there while it covers what is in sight with something to spare
 */
export function placesOf(
  scroller: Scroller,
  panes: readonly Edges[],
  ratio: number,
  before: Extent | null,
): { readonly extent: Extent; readonly places: readonly Place[] } {
  const px = (edge: number) => Math.round(edge * ratio)
  const origin = { left: px(scroller.left), top: px(scroller.top - scroller.scrollTop) }
  const boxes = panes.map((pane) => ({
    left: px(pane.left) - origin.left,
    top: px(pane.top) - origin.top,
    right: px(pane.right) - origin.left,
    bottom: px(pane.bottom) - origin.top,
  }))
  const all = boxes.reduce(
    (sum, box) => ({
      left: Math.min(sum.left, box.left),
      top: Math.min(sum.top, box.top),
      right: Math.max(sum.right, box.right),
      bottom: Math.max(sum.bottom, box.bottom),
    }),
    boxes[0] ?? { left: 0, top: 0, right: 0, bottom: 0 },
  )
  const seen = { top: px(scroller.top) - origin.top, bottom: px(scroller.bottom) - origin.top }
  /** As much of the panes as a canvas reaching this far beyond what is in sight holds. */
  const within = (beyond: number) => ({
    top: Math.max(all.top, seen.top - Math.round(beyond * ratio)),
    bottom: Math.min(all.bottom, seen.bottom + Math.round(beyond * ratio)),
  })
  const needed = within(LEAST_PX)
  const wanted = within(SLACK_PX)
  const stays =
    before !== null &&
    before.top <= needed.top &&
    before.top + before.height >= needed.bottom &&
    before.top >= all.top &&
    before.top + before.height <= all.bottom
  const upright = stays ? { top: before.top, bottom: before.top + before.height } : wanted
  const extent = {
    left: all.left,
    top: upright.top,
    width: Math.max(1, all.right - all.left),
    height: Math.max(1, upright.bottom - upright.top),
  }
  const places = boxes.map((box) => ({
    left: box.left - extent.left,
    top: box.top - extent.top,
    width: box.right - box.left,
    height: box.bottom - box.top,
    ratio,
  }))
  return { extent, places }
}
