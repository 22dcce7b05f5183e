import type { PictureContext } from './context.ts'
import type { FlightKey } from './model.ts'
import type { Palette } from './theme.ts'

/** A rectangle in CSS pixels. */
export interface Box {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

/** What every part of the picture draws with. */
export interface Pen {
  readonly context: PictureContext
  readonly palette: Palette
  /** Device pixels per CSS pixel; only pixel images need to know it. */
  readonly scale: number
}

export const FLIGHTS: readonly FlightKey[] = ['a', 'b']

/** Sizes of type in CSS pixels. The smallest is still read in a picture shown at half its pixels. */
export const TYPE = { title: 22, headline: 15, body: 13, small: 12 } as const

export const MARGIN = 24

/** A straight line. */
export function drawLine(
  pen: Pen,
  from: readonly [number, number],
  to: readonly [number, number],
  colour: string,
  width: number,
): void {
  const { context } = pen
  context.strokeStyle = colour
  context.lineWidth = width
  context.setLineDash([])
  context.beginPath()
  context.moveTo(from[0], from[1])
  context.lineTo(to[0], to[1])
  context.stroke()
}

/**
 * The flight's own mark, so that colour is never the only sign: a disc for A, an open triangle for B.
 * It stands on curves, in the legend and on the badges. A ring of background keeps it apart from lines below.
 */
export function drawMark(
  pen: Pen,
  flight: FlightKey,
  x: number,
  y: number,
  colour: string,
  inside: string,
): void {
  const { context } = pen
  const outline = (radius: number): void => {
    context.beginPath()
    if (flight === 'a') {
      context.arc(x, y, radius, 0, 2 * Math.PI)
    } else {
      context.moveTo(x, y - radius * 1.15)
      context.lineTo(x + radius * 1.1, y + radius * 0.8)
      context.lineTo(x - radius * 1.1, y + radius * 0.8)
    }
    context.closePath()
  }
  context.setLineDash([])
  context.fillStyle = inside
  outline(flight === 'a' ? 5.5 : 7)
  context.fill()
  outline(flight === 'a' ? 4 : 4.4)
  context.fillStyle = flight === 'a' ? colour : inside
  context.fill()
  context.strokeStyle = colour
  context.lineWidth = flight === 'a' ? 1 : 1.8
  context.stroke()
}

/** Gyro is solid, setpoint dashed; B's dashes fall into A's gaps where both run along together. */
export const SETPOINT_DASH: readonly number[] = [5, 4]
export const SETPOINT_OFFSET: Record<FlightKey, number> = { a: 0, b: 4.5 }
export const LINE_WIDTH = { gyro: 1.5, setpoint: 1.3, extra: 1.3 } as const
