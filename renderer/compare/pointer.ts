import type { Attachment } from 'svelte/attachments'
import type { Comparison } from './comparison.svelte.ts'
import type { Span } from './view.svelte.ts'

/** A turn of the wheel by one notch shows this much more or less. */
const WHEEL_STEP = 1.18
/** A drag shorter than this is a click. */
const CLICK_PX = 3

/** A part that is being chosen by dragging with Shift, as shares of the pane's width. */
export type Box = { readonly from: number; readonly to: number } | null

/**
 * What the pointer does in any pane of the common clock: moving shows the cursor in all panes, the wheel zooms
 * at the pointer (sideways it pans), a drag pans, with Shift it chooses a part to zoom into, with Alt it moves
 * B against A, a double click shows the whole.
 */
export function timePane(comparison: Comparison, showBox: (box: Box) => void): Attachment<HTMLElement> {
  return (pane) => {
    const { view } = comparison
    let drag: {
      x: number
      span: Span
      offset_s: number
      kind: 'pan' | 'box' | 'move-b'
      moved: boolean
    } | null = null

    const shareAt = (event: MouseEvent) => {
      const box = pane.getBoundingClientRect()
      return Math.min(1, Math.max(0, (event.clientX - box.left) / box.width))
    }
    const timeAt = (share: number, { t0_s, t1_s }: Span = view.span) => t0_s + share * (t1_s - t0_s)

    const wheel = (event: WheelEvent) => {
      event.preventDefault()
      const unit = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 33 : 1
      if (Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey) {
        view.pan(((event.deltaX || event.deltaY) * unit) / pane.clientWidth)
      } else {
        view.zoom(WHEEL_STEP ** ((event.deltaY * unit) / 100), timeAt(shareAt(event)))
      }
    }
    const down = (event: PointerEvent) => {
      if (event.button !== 0) return
      pane.setPointerCapture(event.pointerId)
      const kind = event.altKey ? 'move-b' : event.shiftKey ? 'box' : 'pan'
      drag = { x: event.clientX, span: view.span, offset_s: comparison.offset_s, kind, moved: false }
    }
    const move = (event: PointerEvent) => {
      comparison.cursor_s = timeAt(shareAt(event))
      if (!drag) return
      const by_px = event.clientX - drag.x
      drag.moved ||= Math.abs(by_px) > CLICK_PX
      if (!drag.moved) return
      const by_s = (by_px / pane.clientWidth) * (drag.span.t1_s - drag.span.t0_s)
      if (drag.kind === 'pan') view.show({ t0_s: drag.span.t0_s - by_s, t1_s: drag.span.t1_s - by_s })
      else if (drag.kind === 'move-b') comparison.setOffset(drag.offset_s + by_s)
      else showBox(boxOf(drag.x, event))
    }
    const boxOf = (startX: number, event: MouseEvent) => {
      const left = pane.getBoundingClientRect().left
      const start = Math.min(1, Math.max(0, (startX - left) / pane.clientWidth))
      const end = shareAt(event)
      return { from: Math.min(start, end), to: Math.max(start, end) }
    }
    const up = (event: PointerEvent) => {
      if (drag?.kind === 'box' && drag.moved) {
        const { from, to } = boxOf(drag.x, event)
        view.show({ t0_s: timeAt(from), t1_s: timeAt(to) })
      }
      drag = null
      showBox(null)
    }
    const leave = () => {
      if (!drag) comparison.cursor_s = null
    }
    const whole = () => view.showWhole()

    pane.addEventListener('wheel', wheel, { passive: false })
    pane.addEventListener('pointerdown', down)
    pane.addEventListener('pointermove', move)
    pane.addEventListener('pointerup', up)
    pane.addEventListener('pointercancel', up)
    pane.addEventListener('pointerleave', leave)
    pane.addEventListener('dblclick', whole)
    return () => {
      pane.removeEventListener('wheel', wheel)
      pane.removeEventListener('pointerdown', down)
      pane.removeEventListener('pointermove', move)
      pane.removeEventListener('pointerup', up)
      pane.removeEventListener('pointercancel', up)
      pane.removeEventListener('pointerleave', leave)
      pane.removeEventListener('dblclick', whole)
    }
  }
}
