import type { Attachment } from 'svelte/attachments'
import type { Upright } from './pointer.ts'
import { zoomPart } from './view.svelte.ts'

const WHEEL_STEP = 1.18

/** Over a scale's numbers the wheel zooms the scale at the pointer, a drag moves it, a double click shows it whole. */
export function uprightWheel(upright: Upright): Attachment<HTMLElement> {
  return (element) => {
    const stop = new AbortController()
    const { signal } = stop
    let grabbed: { y: number; from: number; to: number } | null = null

    const wheel = (event: WheelEvent) => {
      event.preventDefault()
      const { bottom, height } = element.getBoundingClientRect()
      const unit = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 33 : 1
      const factor = WHEEL_STEP ** (((event.deltaY || event.deltaX) * unit) / 100)
      upright.show(zoomPart(upright.part(), factor, (bottom - event.clientY) / height))
    }
    const down = (event: PointerEvent) => {
      element.setPointerCapture(event.pointerId)
      grabbed = { y: event.clientY, ...upright.part() }
    }
    const move = (event: PointerEvent) => {
      if (!grabbed) return
      const by = ((event.clientY - grabbed.y) / element.clientHeight) * (grabbed.to - grabbed.from)
      upright.show({ from: grabbed.from + by, to: grabbed.to + by }, grabbed)
    }
    const up = () => (grabbed = null)
    element.style.touchAction = 'none'
    element.style.cursor = 'ns-resize'
    element.addEventListener('wheel', wheel, { passive: false, signal })
    element.addEventListener('pointerdown', down, { signal })
    element.addEventListener('pointermove', move, { signal })
    element.addEventListener('pointerup', up, { signal })
    element.addEventListener('pointercancel', up, { signal })
    element.addEventListener('dblclick', () => upright.show({ from: 0, to: 1 }), { signal })
    return () => stop.abort()
  }
}
