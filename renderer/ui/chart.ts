import type { CsvCell, CsvTable } from '../../workers/text/csv-out.ts'
import type { Side } from '../compare/comparison.svelte.ts'

/** A curve of a chart: x rises; NaN breaks it. */
export interface Curve {
  readonly side: Side
  readonly name: string
  readonly x: ArrayLike<number>
  readonly y: ArrayLike<number>
  /** The band around it, of the same length. */
  readonly low?: ArrayLike<number>
  readonly high?: ArrayLike<number>
  /** Not 0: trusted; the rest is drawn faint. All are trusted when left out. */
  readonly trusted?: ArrayLike<number>
}

/** A place on x, with a word beside it. */
export interface Mark {
  readonly side: Side
  readonly x: number
  readonly words: string
}

type Scale = (value: number) => number

/** A letter of a mark's words is taken for this wide, in heights of its text. */
const LETTER = 0.56

/** Where a mark's words stand. */
export interface MarkPlace {
  /** Which line of words, from the top. */
  readonly line: number
  /** They end at the mark instead of beginning there, for want of room on its right. */
  readonly before: boolean
}

/**
 * Places the words of marks so that none are written over each other: each in the first line that has room, those that
 * would leave the chart on the left of their mark.
 * @param x where the marks stand, px
 * @param right where the chart ends, px
 * @param text_px the height of the text
 */
export function placeMarks(
  x: readonly number[],
  words: readonly string[],
  right: number,
  text_px: number,
): MarkPlace[] {
  const taken: { readonly line: number; readonly from: number; readonly to: number }[] = []
  return x.map((at, index) => {
    const length = (words[index]!.length * LETTER + 0.6) * text_px
    const before = at + length > right
    const [from, to] = before ? [at - length, at] : [at, at + length]
    let line = 0
    while (taken.some((one) => one.line === line && one.from < to && from < one.to)) line++
    taken.push({ line, from, to })
    return { line, before }
  })
}

/** An SVG path through a curve; `draws` picks the points that belong to it. */
export function pathOf(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  toX: Scale,
  toY: Scale,
  draws: (index: number) => boolean = () => true,
): string {
  let path = ''
  let pen = false
  for (let index = 0; index < x.length; index++) {
    const value = y[index] ?? NaN
    if (!Number.isFinite(value) || !draws(index)) {
      pen = false
      continue
    }
    path += `${pen ? 'L' : 'M'}${toX(x[index] ?? 0).toFixed(1)} ${toY(value).toFixed(1)}`
    pen = true
  }
  return path
}

/** A closed path between two edges of a band; points where either is missing are skipped. */
export function bandOf(curve: Curve, toX: Scale, toY: Scale): string {
  const { x, low, high } = curve
  if (!low || !high) return ''
  const there: string[] = []
  const back: string[] = []
  for (let index = 0; index < x.length; index++) {
    const at = toX(x[index] ?? 0).toFixed(1)
    const bottom = low[index] ?? NaN
    const top = high[index] ?? NaN
    if (!Number.isFinite(bottom) || !Number.isFinite(top)) continue
    there.push(`${at} ${toY(top).toFixed(1)}`)
    back.push(`${at} ${toY(bottom).toFixed(1)}`)
  }
  return there.length > 1 ? `M${there.join('L')}L${back.reverse().join('L')}Z` : ''
}

/** The y of a curve at the sample nearest to x; NaN outside it. */
export function readAt({ x, y }: Curve, at: number): number {
  let low = 0
  let high = x.length - 1
  while (low < high) {
    const middle = (low + high) >> 1
    if ((x[middle] ?? 0) < at) low = middle + 1
    else high = middle
  }
  if (low > 0 && at - (x[low - 1] ?? -Infinity) < (x[low] ?? Infinity) - at) low--
  const step = Math.abs((x[1] ?? 0) - (x[0] ?? 0))
  return Math.abs((x[low] ?? NaN) - at) <= step ? (y[low] ?? NaN) : NaN
}

/**
 * The table behind a chart: x, then each curve with its band and whether it is trusted. What is missing is null. Rows in
 * order of x; a curve that has nothing at an x has empty cells there.
 */
export function tableOf(curves: readonly Curve[], xName: string): CsvTable {
  const xs = [...new Set(curves.flatMap(({ x }) => Array.from(x)))].sort((a, b) => a - b)
  const columns = curves.flatMap((curve) => columnsOf(curve))
  return {
    head: [xName, ...columns.map(({ name }) => name)],
    rows: xs.map((at) => [at, ...columns.map(({ values }) => values.get(at) ?? null)]),
  }
}

function columnsOf(curve: Curve): { name: string; values: Map<number, CsvCell> }[] {
  const { side, x, y, low, high, trusted } = curve
  const name = `${side.toUpperCase()} ${curve.name}`
  const numbers = (samples: ArrayLike<number>) =>
    new Map(Array.from(x, (at, index) => [at, finiteOrNull(samples[index])]))
  return [
    { name, values: numbers(y) },
    ...(low ? [{ name: `${name}, low end`, values: numbers(low) }] : []),
    ...(high ? [{ name: `${name}, high end`, values: numbers(high) }] : []),
    ...(trusted
      ? [
          {
            name: `${name}, trusted`,
            values: new Map<number, CsvCell>(
              Array.from(x, (at, index) => [at, trusted[index] ? 'yes' : 'no']),
            ),
          },
        ]
      : []),
  ]
}

const finiteOrNull = (value: number | undefined) =>
  value !== undefined && Number.isFinite(value) ? value : null
