import type { Samples } from '../samples.ts'
import { layOut, loadKernel, type Kernel } from './load.ts'
import { PRODUCTS_WASM } from './products-wasm.ts'
import { fillTurns } from './turns.ts'

/** The compiled kernel's exports; see products.as. */
interface Exports {
  direct(u: number, y: number, count: number, lags: number, sums: number): void
  blocks(
    u0: number,
    u1: number,
    y0: number,
    y1: number,
    size: number,
    turns: number,
    work: number,
    room: number,
    sums: number,
  ): void
}

/** undefined: not tried yet. null: there is none here; the plain code serves. */
let kernel: Kernel<Exports> | null | undefined

const theKernel = (): Kernel<Exports> | null =>
  kernel === undefined ? (kernel = loadKernel<Exports>(PRODUCTS_WASM)) : kernel

/** Can the kernel sum up products here? */
export const kernelMultiplies = (): boolean => theKernel() !== null

/** Lags that the kernel sums up in one go. */
const LAGS_AT_ONCE = 16
/** Samples that lie in the kernel's memory at once: they stay in the processor's near memory. */
const SAMPLES_AT_ONCE = 8192

/**
 * sum over n of u[n] y[n + firstLag + k] for k < lags, both series zero outside, summed up one by one. Only where
 * kernelMultiplies().
 */
export function kernelDirect(u: Samples, y: Samples, firstLag: number, lags: number): Float64Array {
  const { memory, exports } = theKernel()!
  const room = Math.min(u.length, SAMPLES_AT_ONCE)
  const whole = Math.ceil(lags / LAGS_AT_ONCE) * LAGS_AT_ONCE
  const places = layOut(memory, { sums: 8 * whole, u: 8 * room, y: 8 * (room + whole) })
  const sums = new Float64Array(memory.buffer, places.sums, whole).fill(0)
  const ofU = new Float64Array(memory.buffer, places.u, room)
  const ofY = new Float64Array(memory.buffer, places.y, room + whole)
  for (let start = 0; start < u.length; start += room) {
    const count = Math.min(room, u.length - start)
    lay(ofU, u, start, start + count)
    lay(ofY, y, start + firstLag, start + firstLag + count + whole)
    exports.direct(places.u, places.y, count, whole, places.sums)
  }
  return sums.slice(0, lags)
}

/**
 * The spectrum conj(U) Y of the same sums, for an inverse transform of `size` (a power of two, at least 4 and more than
 * lags). Only where kernelMultiplies().
 */
export function kernelSpectrum(
  u: Samples,
  y: Samples,
  firstLag: number,
  lags: number,
  size: number,
): { readonly re: Float64Array; readonly im: Float64Array } {
  const { memory, exports } = theKernel()!
  const bins = size / 2 + 1
  const places = layOut(memory, {
    turns: 16 * size,
    work: 32 * size,
    room: 32 * size,
    sums: 32 * bins,
    ...{ u0: 8 * size, u1: 8 * size, y0: 8 * size, y1: 8 * size },
  })
  const view = (place: number, count: number) => new Float64Array(memory.buffer, place, count)
  view(places.turns, 2 * size).set(turns(size))
  const sums = view(places.sums, 4 * bins).fill(0)
  const ofU = [view(places.u0, size), view(places.u1, size)]
  const ofY = [view(places.y0, size), view(places.y1, size)]
  const block = size - lags + 1
  for (let start = 0; start < u.length; start += 2 * block) {
    for (let half = 0; half < 2; half++) {
      const from = start + half * block
      const end = Math.max(from, Math.min(u.length, from + block))
      lay(ofU[half]!, u, from, end)
      lay(ofY[half]!, y, from + firstLag, end + firstLag + lags - 1)
    }
    exports.blocks(
      places.u0,
      places.u1,
      places.y0,
      places.y1,
      size,
      places.turns,
      places.work,
      places.room,
      places.sums,
    )
  }
  const re = new Float64Array(bins)
  const im = new Float64Array(bins)
  for (let k = 0; k < bins; k++) {
    re[k] = (sums[4 * k]! + sums[4 * k + 1]!) / 4
    im[k] = (sums[4 * k + 2]! + sums[4 * k + 3]!) / 4
  }
  return { re, im }
}

/** Fills `into` with the samples from..to (not included), which may lead outside of the series: zeros there and behind. */
function lay(into: Float64Array, of: Samples, from: number, to: number): void {
  const first = Math.min(Math.max(from, 0), Math.max(to, from))
  const last = Math.max(first, Math.min(to, of.length))
  into.fill(0, 0, first - from)
  if (last > first) into.set(of.subarray(first, last), first - from)
  into.fill(0, last - from)
}

/** The tables asked for last: analyses of a flight ask for the same one or two again and again. */
const known = new Map<number, Float64Array>()
const MOST_TABLES = 8

/** cos and -sin of 2 pi k / size as pairs. Not to be written to. */
function turns(size: number): Float64Array {
  const found = known.get(size)
  if (found) return found
  if (known.size >= MOST_TABLES) known.clear()
  const table = fillTurns(new Float64Array(2 * size), size)
  known.set(size, table)
  return table
}
