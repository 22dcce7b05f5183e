import { layOut, loadKernel, type Kernel } from '../signal/kernel/load.ts'
import type { Run } from '../signal/segments.ts'
import { SYSTEMS_WASM } from './kernel/systems-wasm.ts'
import { recursionAt, type SecondOrder } from './second-order.ts'

/** Four systems that are run at once; see `fourSystems`. */
export type Four = readonly [SecondOrder, SecondOrder, SecondOrder, SecondOrder]

/**
 * Where the sums of a group stand. d0..d2: what the answers of the first three systems are apart from that of the fourth, x;
 * y: the measured series about its mean.
 */
export const SUM = {
  ...{ d0d0: 0, d1d1: 1, d0d1: 2, d2x: 3, d2d2: 4, xx: 5, d0d2: 6, d1d2: 7, d0x: 8, d1x: 9 },
  ...{ d0y: 10, d1y: 11, d2y: 12, xy: 13, d0: 14, d1: 15, d2: 16, x: 17 },
} as const
/** Numbers per group. */
export const SUMS = 18

/** Runs four systems over the stretches that it was made for; gives the groups' sums, SUMS numbers each. */
export type RunFour = (systems: Four) => Float64Array

export interface FourQuestion {
  readonly input: Float64Array
  readonly measured: Float64Array
  /** Taken off the measured series. */
  readonly mean: number
  readonly rate_hz: number
  /** Stretches without NaN, each started at rest. */
  readonly stretches: readonly Run[]
  /** Samples of each stretch that only settle the systems and are not counted. */
  readonly settling: number
  /** The counted samples, numbered through the stretches, are summed up in so many groups of equal size. */
  readonly groups: number
}

interface Exports {
  run(
    u: number,
    y: number,
    pieces: number,
    count: number,
    taps: number,
    whole: number,
    mean: number,
    sums: number,
  ): void
}

/** undefined: not tried yet. null: there is none here; the plain code serves. */
let kernel: Kernel<Exports> | null | undefined

/**
 * Sums of products of four systems' answers among themselves and with a measured series: all that a Gauss-Newton step of an
 * output-error fit needs, in one pass. The answers are those of `simulateSecondOrder`; the systems' delays may lie at most a
 * sample apart. The result is good until the next one is made. In the compiled kernel where it can be had.
 */
export function fourSystems(question: FourQuestion): RunFour {
  if (kernel === undefined) kernel = loadKernel<Exports>(SYSTEMS_WASM)
  return kernel ? inKernel(kernel, question) : plainFour(question)
}

/** From, to, group or -1, and whether the systems start anew. */
type Piece = readonly [number, number, number, 0 | 1]

function piecesOf({ stretches, settling, groups }: FourQuestion): Piece[] {
  const total = stretches.reduce((sum, { start, end }) => sum + Math.max(0, end - start - settling), 0)
  const bound = (group: number) => Math.round((group * total) / groups)
  const pieces: Piece[] = []
  let done = 0
  let group = 0
  for (const { start, end } of stretches) {
    let at = Math.min(end, start + settling)
    pieces.push([start, at, -1, 1])
    while (at < end) {
      while (done >= bound(group + 1)) group++
      const to = Math.min(end, at + bound(group + 1) - done)
      pieces.push([at, to, group, 0])
      done += to - at
      at = to
    }
  }
  return pieces
}

const TAPS = 5
/** Vectors of a pair of systems in the kernel: the recursion, the taps and the gain. */
const VECTORS = 2 + TAPS + 1

interface Row {
  readonly a1: number
  readonly a2: number
  readonly taps: readonly number[]
  readonly gain: number
}

/** The systems' recursions with their taps counted from the shortest delay. */
function rowsOf(systems: Four, rate_hz: number): { whole: number; rows: Row[] } {
  const all = systems.map((system) => recursionAt(system, rate_hz))
  const whole = Math.min(...all.map((one) => one.whole))
  const rows = all.map(({ a1, a2, taps, whole: own }, k): Row => {
    if (own > whole + 1) throw new Error(`delays lie more than a sample apart: ${whole} and ${own}`)
    return { a1, a2, taps: own === whole ? [...taps, 0] : [0, ...taps], gain: systems[k]!.gain }
  })
  return { whole, rows }
}

function inKernel({ memory, exports }: Kernel<Exports>, question: FourQuestion): RunFour {
  const { input, measured, mean, rate_hz, stretches, groups } = question
  // The stretches one behind the other: of long flights only some are looked at.
  let length = 0
  const packed = stretches.map(({ start, end }): Run => ({ start: length, end: (length += end - start) }))
  const pieces = piecesOf({ ...question, stretches: packed })
  const places = layOut(memory, {
    pieces: 16 * pieces.length,
    taps: 16 * 2 * VECTORS,
    sums: 8 * SUMS * groups,
    u: 8 * length,
    y: 8 * length,
  })
  const ofInput = new Float64Array(memory.buffer, places.u, length)
  const ofMeasured = new Float64Array(memory.buffer, places.y, length)
  stretches.forEach(({ start, end }, k) => {
    ofInput.set(input.subarray(start, end), packed[k]!.start)
    ofMeasured.set(measured.subarray(start, end), packed[k]!.start)
  })
  new Int32Array(memory.buffer, places.pieces, 4 * pieces.length).set(pieces.flat())
  const table = new Float64Array(memory.buffer, places.taps, 4 * VECTORS)
  const sums = new Float64Array(memory.buffer, places.sums, SUMS * groups)
  return (systems) => {
    const { whole, rows } = rowsOf(systems, rate_hz)
    rows.forEach(({ a1, a2, taps, gain }, system) => {
      const half = (system >> 1) * 2 * VECTORS + (system & 1)
      ;[a1, a2, ...taps, gain].forEach((value, k) => (table[half + 2 * k] = value))
    })
    sums.fill(0)
    exports.run(places.u, places.y, places.pieces, pieces.length, places.taps, whole, mean, places.sums)
    return sums.slice()
  }
}

/** The same without the kernel. */
export function plainFour(question: FourQuestion): RunFour {
  const { input, measured, mean, rate_hz, groups } = question
  const pieces = piecesOf(question)
  return (systems) => {
    const { whole, rows } = rowsOf(systems, rate_hz)
    const sums = new Float64Array(SUMS * groups)
    const answer = new Float64Array(4)
    const before = new Float64Array(4)
    const beforeThat = new Float64Array(4)
    let first = 0
    for (const [from, to, group, anew] of pieces) {
      if (anew === 1) {
        first = from
        rows.forEach(({ gain }, system) => (before[system] = gain * input[from]!))
        beforeThat.set(before)
      }
      const at = (n: number) => input[Math.max(first, n - whole)]!
      const own = sums.subarray(SUMS * group, SUMS * (group + 1))
      for (let n = from; n < to; n++) {
        rows.forEach(({ a1, a2, taps }, system) => {
          let value = a1 * before[system]! + a2 * beforeThat[system]!
          for (let k = 0; k < TAPS; k++) value += taps[k]! * at(n - k)
          answer[system] = value
        })
        beforeThat.set(before)
        before.set(answer)
        if (group >= 0) addProducts(answer, measured[n]! - mean, own)
      }
    }
    return sums
  }
}

function addProducts(answer: Float64Array, y: number, sums: Float64Array): void {
  const x = answer[3]!
  const [d0, d1, d2] = [answer[0]! - x, answer[1]! - x, answer[2]! - x]
  const products = [
    ...[d0 * d0, d1 * d1, d0 * d1, d2 * x, d2 * d2, x * x, d0 * d2, d1 * d2, d0 * x, d1 * x],
    ...[d0 * y, d1 * y, d2 * y, x * y, d0, d1, d2, x],
  ]
  for (let k = 0; k < SUMS; k++) sums[k]! += products[k]!
}
