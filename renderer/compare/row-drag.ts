import type { Attachment } from 'svelte/attachments'
import type { Rows } from './rows.svelte.ts'
import { perFrame } from './per-frame.ts'

const MARK = 'drop-before'
const CLICK_PX = 4

/** The title of a row is its handle: dropped over the upper half of another row it goes before it, else after it. */
export function dragRow(rows: Rows, id: string): Attachment<HTMLElement> {
  return (handle) => {
    const listening = new AbortController()
    let from: number | null = null
    let before: string | null | undefined

    const listed = () => [...(handle.closest('.rows')?.querySelectorAll<HTMLElement>('[data-row]') ?? [])]
    const unmark = () => listed().forEach((row) => row.classList.remove(MARK))
    const over = perFrame<PointerEvent>(({ clientY }) => {
      if (from === null || Math.abs(clientY - from) < CLICK_PX) return
      unmark()
      const next = listed().find((row) => {
        const { top, height } = row.getBoundingClientRect()
        return clientY < top + height / 2
      })
      next?.classList.add(MARK)
      before = next?.dataset['row'] ?? null
    })
    const down = (event: PointerEvent) => {
      if (event.button !== 0) return
      handle.setPointerCapture(event.pointerId)
      from = event.clientY
      before = undefined
    }
    const up = () => {
      if (from !== null) over.flush()
      unmark()
      if (from !== null && before !== undefined) rows.moveTo(id, before)
      from = null
    }
    const { signal } = listening
    handle.addEventListener('pointerdown', down, { signal })
    handle.addEventListener('pointermove', (event) => from !== null && over(event), { signal })
    handle.addEventListener('pointerup', up, { signal })
    handle.addEventListener(
      'pointercancel',
      () => {
        from = null
        unmark()
      },
      { signal },
    )
    return () => {
      listening.abort()
      over.drop()
    }
  }
}

/** The divider below a row: dragging it sizes the row, a double click gives the row back its share. */
export function dragDivider(rows: Rows, id: string): Attachment<HTMLElement> {
  return (divider) => {
    const listening = new AbortController()
    let grabbed: { readonly y: number; readonly height_px: number } | null = null

    const pull = perFrame<PointerEvent>(({ clientY }) => {
      if (grabbed) rows.resize(id, grabbed.height_px + clientY - grabbed.y)
    })
    const down = (event: PointerEvent) => {
      if (event.button !== 0) return
      divider.setPointerCapture(event.pointerId)
      grabbed = { y: event.clientY, height_px: heightInWindow(id) }
    }
    const up = () => {
      pull.flush()
      grabbed = null
    }
    const { signal } = listening
    divider.addEventListener('pointerdown', down, { signal })
    divider.addEventListener('pointermove', (event) => grabbed && pull(event), { signal })
    divider.addEventListener('pointerup', up, { signal })
    divider.addEventListener('pointercancel', up, { signal })
    divider.addEventListener('dblclick', () => rows.resize(id, null), { signal })
    return () => {
      listening.abort()
      pull.drop()
    }
  }
}

/** The height that a row has at present, CSS pixels. */
export function heightInWindow(id: string): number {
  return document.querySelector(`[data-row="${CSS.escape(id)}"]`)?.getBoundingClientRect().height ?? 0
}
