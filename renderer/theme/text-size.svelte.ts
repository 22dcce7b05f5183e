/** How large the system (or the browser) has the window's text; follows when that is changed. */
class TextSize {
  /** One rem, px. */
  rem_px = $state(Number.parseFloat(getComputedStyle(document.documentElement).fontSize))

  constructor() {
    const probe = document.createElement('div')
    probe.style.cssText = 'position: absolute; width: 1rem; height: 0; visibility: hidden'
    document.body.append(probe)
    new ResizeObserver(([entry]) => {
      if (entry && entry.contentRect.width > 0) this.rem_px = entry.contentRect.width
    }).observe(probe)
  }
}

export const textSize = new TextSize()
