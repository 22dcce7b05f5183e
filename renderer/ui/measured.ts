import type { Attachment } from 'svelte/attachments'

/**
 * Tells an element's inner size in whole CSS pixels, at first and whenever it changes: when the browser has laid out
 * the frame, before it is drawn. Nothing is laid out in the middle of mounting, as `bind:clientWidth` would have it.
 */
export function measured(tell: (width: number, height: number) => void): Attachment<Element> {
  return (element) => {
    const observer = new ResizeObserver(() => tell(element.clientWidth, element.clientHeight))
    observer.observe(element)
    return () => observer.disconnect()
  }
}
