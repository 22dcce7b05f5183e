import type { PaintedLine } from './paint-traces.ts'

/** CSS pixels between two marks of a line, and a mark's half size. */
const SPACING_PX = 170
const HALF_PX = 3.5

/**
 * Marks along the answers' lines that tell the flights apart without colour: filled circles for A, open triangles
 * for B, as in the comparison picture. B's stand between A's. The pane's corner is the context's origin, its size is
 * given in pixels.
 */
export function flightMarks(
  context: CanvasRenderingContext2D,
  painted: readonly PaintedLine[],
  { width, height }: { readonly width: number; readonly height: number },
  colours: Readonly<Record<'a' | 'b' | 'background', string>>,
  ratio: number,
): void {
  context.save()
  context.lineWidth = 1.4 * ratio
  for (const { line, spans } of painted) {
    if (line.demand || line.thin || line.faint) continue
    context.strokeStyle = context.fillStyle = colours[line.side]
    const { min, max } = line.range
    const first_px = (line.side === 'a' ? 0.35 : 0.85) * SPACING_PX * ratio
    for (let left = first_px; left < width; left += SPACING_PX * ratio) {
      const column = Math.round(left)
      const value = (spans.low[column]! + spans.high[column]!) / 2
      if (Number.isNaN(value)) continue
      const top = ((max - value) / (max - min)) * height
      context.beginPath()
      if (line.side === 'a') {
        context.arc(left, top, HALF_PX * ratio, 0, 2 * Math.PI)
        context.fill()
        continue
      }
      const half = HALF_PX * 1.25 * ratio
      context.moveTo(left, top - half)
      context.lineTo(left + half, top + half * 0.8)
      context.lineTo(left - half, top + half * 0.8)
      context.closePath()
      context.fillStyle = colours.background
      context.fill()
      context.stroke()
    }
  }
  context.restore()
}
