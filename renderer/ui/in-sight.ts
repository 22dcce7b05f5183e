import type { Attachment } from 'svelte/attachments'

/** Beyond what is in sight, px: what is about to be scrolled in is drawn already. */
const MARGIN_PX = 120

/** Tells whether an element can be seen, at first and whenever that changes: what can't need not be drawn. */
export function inSight(tell: (is: boolean) => void): Attachment<Element> {
  return (element) => {
    const observer = new IntersectionObserver(
      (entries) => {
        const last = entries.at(-1)
        if (last) tell(last.isIntersecting)
      },
      { rootMargin: `${MARGIN_PX}px` },
    )
    observer.observe(element)
    return () => observer.disconnect()
  }
}
