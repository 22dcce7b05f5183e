import type { Attachment } from 'svelte/attachments'

type Tell = (width: number, height: number) => void
const told = new Map<Element, Tell>()
let observer: ResizeObserver | null = null

/**
 * Tells an element's inner size in whole CSS pixels, at first and whenever it changes: when the browser has laid out
 * the frame, before it is drawn. Nothing is laid out in the middle of mounting, as `bind:clientWidth` would have it.
 * One observer serves all: every size is read before any is told, since what is told changes what stands in the window
 * and the next reading would lay it out once more.
 */
export function measured(tell: Tell): Attachment<Element> {
  return (element) => {
    observer ??= new ResizeObserver((entries) => {
      const sizes = entries.map(({ target }) => [target.clientWidth, target.clientHeight] as const)
      entries.forEach(({ target }, index) => told.get(target)?.(...sizes[index]!))
    })
    told.set(element, tell)
    observer.observe(element)
    return () => {
      observer?.unobserve(element)
      told.delete(element)
    }
  }
}
