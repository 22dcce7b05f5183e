import { windowSamples, type WindowName } from '../windows.ts'
import { SPECTRA_WASM } from './spectra-wasm.ts'

/** The compiled kernel's exports; see spectra.as. */
interface Exports {
  spectrogram(
    samples: number,
    frames: number,
    size: number,
    hop: number,
    window: number,
    half: number,
    whole: number,
    work: number,
    room: number,
    sums: number,
    out: number,
    scale: number,
    floor: number,
  ): void
  cross(
    segments: number,
    size: number,
    window: number,
    turns: number,
    work: number,
    room: number,
    notes: number,
    takeMean: number,
  ): void
  settle(notes: number, sums: number, bins: number): void
}

interface Kernel {
  readonly memory: WebAssembly.Memory
  readonly exports: Exports
}

const PAGE = 65_536
/** Below this the kernel keeps its own constants. */
const FIRST_FREE = 4096
/** Frames handed to the kernel at once: their levels stay in the processor's near memory. */
const FRAMES_AT_ONCE = 64
/** Calls whose spectra are added in 32 bits before they go to the sums in 64. */
const SETTLE_AFTER = 16

/** undefined: not tried yet. null: this engine has no SIMD, or is not allowed to compile; the plain code serves. */
let kernel: Kernel | null | undefined

function theKernel(): Kernel | null {
  if (kernel === undefined) kernel = makeKernel()
  return kernel
}

function makeKernel(): Kernel | null {
  if (typeof WebAssembly === 'undefined') return null
  const binary = Uint8Array.from(atob(SPECTRA_WASM), (character) => character.charCodeAt(0))
  if (!WebAssembly.validate(binary)) return null
  const memory = new WebAssembly.Memory({ initial: 16, maximum: 16_384 })
  try {
    const instance = new WebAssembly.Instance(new WebAssembly.Module(binary), { env: { memory } })
    return { memory, exports: instance.exports as unknown as Exports }
  } catch (error) {
    // A page whose policy forbids compiling, or a main thread that may not: not an error, only slower.
    if (error instanceof WebAssembly.CompileError || error instanceof RangeError) return null
    throw error
  }
}

const aligned = (address: number): number => Math.ceil(address / 64) * 64

/** Lays stretches of bytes one after the other and makes the memory long enough for them. */
function layOut<Name extends string>(
  memory: WebAssembly.Memory,
  bytes: Record<Name, number>,
): Record<Name, number> {
  let at = FIRST_FREE
  const places = {} as Record<Name, number>
  for (const [name, size] of Object.entries(bytes) as [Name, number][]) {
    places[name] = at
    at = aligned(at + size)
  }
  const missing = at - memory.buffer.byteLength
  if (missing > 0) memory.grow(Math.ceil(missing / PAGE))
  return places
}

/** Tables of turns: spectra of a flight ask for the same few again and again. */
const knownTurns = new Map<string, Float32Array>()
const MOST_TABLES = 16

/** cos and -sin of 2 pi k / points as pairs, k < count. Not to be written to. */
function turns(points: number, count: number): Float32Array {
  const name = `${points}/${count}`
  const known = knownTurns.get(name)
  if (known) return known
  if (knownTurns.size >= MOST_TABLES) knownTurns.clear()
  const table = new Float32Array(2 * count)
  for (let k = 0; k < count; k++) {
    table[2 * k] = Math.cos((2 * Math.PI * k) / points)
    table[2 * k + 1] = -Math.sin((2 * Math.PI * k) / points)
  }
  knownTurns.set(name, table)
  return table
}

const isPowerOfTwo = (size: number): boolean => size >= 2 && (size & (size - 1)) === 0

/** Can the kernel do spectrograms of this window and number of frames here? */
export function kernelTakes(size: number, frames: number): boolean {
  return isPowerOfTwo(size) && size >= 16 && size <= 8192 && frames >= 4 && theKernel() !== null
}

/** Can the kernel do cross-spectra of this segment here? */
export function kernelCrosses(size: number): boolean {
  return isPowerOfTwo(size) && size >= 16 && size <= 16_384 && theKernel() !== null
}

export interface KernelSpectrogram {
  readonly size: number
  readonly hop: number
  readonly shape: WindowName
  /** 1 / (rate sum w^2) */
  readonly scale: number
  /** Least density. */
  readonly floor: number
}

/**
 * Levels of `frames` frames into `level_db` (rows of size/2 + 1), in 32-bit arithmetic, the mean of each frame taken off.
 * `before` is called ahead of each lot of frames with their number from 0; frames with a NaN come out as anything.
 * Only where kernelTakes(size, frames).
 */
export function kernelSpectrogram(
  samples: ArrayLike<number>,
  frames: number,
  { size, hop, shape, scale, floor }: KernelSpectrogram,
  level_db: Float32Array,
  before: (frame: number) => void,
): void {
  const { memory, exports } = theKernel()!
  const bins = size / 2 + 1
  const lot = Math.min(FRAMES_AT_ONCE, frames)
  const span = (lot - 1) * hop + size
  const places = layOut(memory, {
    window: 4 * size,
    half: 4 * size,
    whole: 8 * bins,
    work: 16 * size,
    room: 16 * size,
    sums: 4 * (lot + size),
    samples: 4 * span,
    out: 4 * lot * bins,
  })
  const view = (place: number, count: number) => new Float32Array(memory.buffer, place, count)
  view(places.window, size).set(windowSamples(shape, size))
  view(places.half, size).set(turns(size / 2, size / 2))
  view(places.whole, 2 * bins).set(turns(size, bins))
  const input = view(places.samples, span)
  const output = view(places.out, lot * bins)
  for (let frame = 0; frame < frames; frame += lot) {
    before(frame)
    // The last lot reaches back, so that it is full: the kernel needs four frames at least.
    const first = Math.min(frame, frames - lot)
    copyInto(input, samples, first * hop)
    exports.spectrogram(
      places.samples,
      lot,
      size,
      hop,
      places.window,
      places.half,
      places.whole,
      places.work,
      places.room,
      places.sums,
      places.out,
      // Untangling leaves a factor of 4 in the power; a bin stands for two frequencies.
      (2 * scale) / 4,
      floor,
    )
    level_db.set(output, first * bins)
  }
}

function copyInto(target: Float32Array, samples: ArrayLike<number>, from: number): void {
  if (samples instanceof Float32Array || samples instanceof Float64Array) {
    target.set(samples.subarray(from, from + target.length))
  } else {
    for (let n = 0; n < target.length; n++) target[n] = samples[from + n]!
  }
}

/** Where sums of |U|^2, |Y|^2, Re and Im of conj(U) Y go. */
export interface CrossTarget {
  readonly uu: Float64Array
  readonly yy: Float64Array
  readonly uyRe: Float64Array
  readonly uyIm: Float64Array
}

/**
 * Adds the segments from `starts` to the sums, in 32-bit arithmetic (sums in 64). `takeMean`: the mean of each is taken
 * off. No NaN inside. Only where kernelCrosses(window.length).
 */
export function kernelCross(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  starts: readonly number[],
  window: Float64Array,
  takeMean: boolean,
  into: CrossTarget,
): void {
  const [ofU, ofY] = [singles(u, starts, window.length), singles(y, starts, window.length)]
  const sums = crossSums(window, takeMean, Math.ceil(starts.length / 4), (slots, call) => {
    for (let lane = 0; lane < 4; lane++) {
      const start = starts[4 * call + lane]
      fillSlot(slots[lane]!, ofU, start)
      fillSlot(slots[lane + 4]!, ofY, start)
    }
  })
  for (let k = 0; k < into.uu.length; k++) {
    into.uu[k]! += sums[4 * k]!
    into.yy[k]! += sums[4 * k + 1]!
    into.uyRe[k]! += sums[4 * k + 2]!
    into.uyIm[k]! += sums[4 * k + 3]!
  }
}

/**
 * Adds |X|^2 of the segments from `starts` to `power` (size/2 + 1 bins), eight segments at once. As kernelCross.
 */
export function kernelPower(
  samples: ArrayLike<number>,
  starts: readonly number[],
  window: Float64Array,
  takeMean: boolean,
  power: Float64Array,
): void {
  const of = singles(samples, starts, window.length)
  const sums = crossSums(window, takeMean, Math.ceil(starts.length / 8), (slots, call) => {
    slots.forEach((slot, lane) => fillSlot(slot, of, starts[8 * call + lane]))
  })
  for (let k = 0; k < power.length; k++) power[k]! += sums[4 * k]! + sums[4 * k + 1]!
}

/** Samples in 32 bits and where the first of them stands in the series. */
interface Singles {
  readonly samples: Float32Array
  readonly from: number
}

/** What segments of this size from `starts` (ascending) cover, in 32 bits: segments overlap, so it is converted once. */
function singles(samples: ArrayLike<number>, starts: readonly number[], size: number): Singles {
  if (samples instanceof Float32Array) return { samples, from: 0 }
  const from = starts[0] ?? 0
  const converted = new Float32Array((starts.at(-1) ?? from - size) + size - from)
  for (let n = 0; n < converted.length; n++) converted[n] = samples[from + n]!
  return { samples: converted, from }
}

function fillSlot(slot: Float32Array, { samples, from }: Singles, start: number | undefined): void {
  if (start === undefined) slot.fill(0)
  else slot.set(samples.subarray(start - from, start - from + slot.length))
}

/** Runs the kernel `calls` times on what `fill` puts into its eight slots; four sums per bin. */
function crossSums(
  window: Float64Array,
  takeMean: boolean,
  calls: number,
  fill: (slots: readonly Float32Array[], call: number) => void,
): Float64Array {
  const { memory, exports } = theKernel()!
  const size = window.length
  const bins = size / 2 + 1
  const places = layOut(memory, {
    window: 4 * size,
    turns: 8 * size,
    work: 32 * size,
    room: 32 * size,
    notes: 64 * bins,
    sums: 32 * bins,
    segments: 8 * 4 * size,
  })
  const view = (place: number, count: number) => new Float32Array(memory.buffer, place, count)
  view(places.window, size).set(window)
  view(places.turns, 2 * size).set(turns(size, size))
  view(places.notes, 16 * bins).fill(0)
  const slots = Array.from({ length: 8 }, (_, slot) => view(places.segments + 4 * size * slot, size))
  const sums = new Float64Array(memory.buffer, places.sums, 4 * bins)
  sums.fill(0)
  for (let call = 0; call < calls; call++) {
    fill(slots, call)
    exports.cross(
      places.segments,
      size,
      places.window,
      places.turns,
      places.work,
      places.room,
      places.notes,
      takeMean ? 1 : 0,
    )
    // 32-bit sums of too many segments would lose digits.
    if (call % SETTLE_AFTER === SETTLE_AFTER - 1) exports.settle(places.notes, places.sums, bins)
  }
  exports.settle(places.notes, places.sums, bins)
  // Untangling left every product four times too large.
  const quarters = sums.slice()
  for (let k = 0; k < quarters.length; k++) quarters[k]! /= 4
  return quarters
}
