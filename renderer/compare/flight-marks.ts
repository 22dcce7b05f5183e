import type uPlot from 'uplot'

/** CSS pixels between two marks of a line, and a mark's half size. */
const SPACING_PX = 170
const HALF_PX = 3.5

/**
 * Marks along the answers' lines that tell the flights apart without colour: filled circles for A, open triangles
 * for B, as in the comparison picture. B's stand between A's.
 */
export function flightMarks(
  chart: uPlot,
  lines: readonly { readonly side: 'a' | 'b'; readonly demand: boolean; readonly thin: boolean }[],
  background: string,
): void {
  const { ctx, bbox } = chart
  const ratio = devicePixelRatio
  const x_s = chart.data[0]
  ctx.save()
  lines.forEach(({ side, demand, thin }, index) => {
    const y = chart.data[index + 1]
    if (demand || thin || !y || x_s.length === 0) return
    const colour = chart.series[index + 1]?.stroke
    ctx.strokeStyle = ctx.fillStyle = String(typeof colour === 'function' ? colour(chart, index + 1) : colour)
    ctx.lineWidth = 1.4 * ratio
    const first_px = (side === 'a' ? 0.35 : 0.85) * SPACING_PX * ratio
    for (let at_px = first_px; at_px < bbox.width; at_px += SPACING_PX * ratio) {
      const sample = nearestDrawn(x_s, y, chart.posToVal(at_px / ratio, 'x'))
      if (sample === null) continue
      const left = chart.valToPos(x_s[sample] ?? 0, 'x', true)
      const top = chart.valToPos(y[sample] ?? 0, 'y', true)
      if (left < bbox.left || left > bbox.left + bbox.width) continue
      ctx.beginPath()
      if (side === 'a') {
        ctx.arc(left, top, HALF_PX * ratio, 0, 2 * Math.PI)
        ctx.fill()
      } else {
        const half = HALF_PX * 1.25 * ratio
        ctx.moveTo(left, top - half)
        ctx.lineTo(left + half, top + half * 0.8)
        ctx.lineTo(left - half, top + half * 0.8)
        ctx.closePath()
        ctx.fillStyle = background
        ctx.fill()
        ctx.stroke()
      }
    }
  })
  ctx.restore()
}

/** Index of the sample at or after t_s that the line has; null when its next one is a gap away. */
function nearestDrawn(
  x_s: ArrayLike<number>,
  y: ArrayLike<number | null | undefined>,
  t_s: number,
): number | null {
  let low = 0
  let high = x_s.length
  while (low < high) {
    const middle = (low + high) >>> 1
    if ((x_s[middle] ?? 0) < t_s) low = middle + 1
    else high = middle
  }
  for (let index = low; index < Math.min(x_s.length, low + 4); index++) if (y[index] != null) return index
  return null
}
