import { windowSamples, type WindowName } from '../windows.ts'
import { layOut, loadKernel, type Kernel } from './load.ts'
import { SPECTRA_WASM } from './spectra-wasm.ts'
import { fillTurns } from './turns.ts'

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
  narrow(from: number, to: number, count: number): void
  steps(at: number, count: number): void
  subtract(at: number, less: number, count: number): void
  cross(
    u: number,
    y: number,
    starts: number,
    count: number,
    alone: number,
    size: number,
    window: number,
    turns: number,
    work: number,
    room: number,
    notes: number,
    sums: number,
    silence: number,
    takeMean: number,
  ): void
}

/** Frames handed to the kernel at once: their levels stay in the processor's near memory. */
const FRAMES_AT_ONCE = 64
/** Samples of a series that lie in the kernel's memory at once: long flights must not make it large for good. */
const SAMPLES_AT_ONCE = 2 ** 18

/** undefined: not tried yet. null: there is none here; the plain code serves. */
let kernel: Kernel<Exports> | null | undefined

const theKernel = (): Kernel<Exports> | null =>
  kernel === undefined ? (kernel = loadKernel<Exports>(SPECTRA_WASM)) : kernel

/** Tables of turns: spectra of a flight ask for the same few again and again. */
const knownTurns = new Map<string, Float32Array>()
const MOST_TABLES = 16

/** cos and -sin of 2 pi k / points as pairs, k < count. Not to be written to. */
function turns(points: number, count: number): Float32Array {
  const name = `${points}/${count}`
  const known = knownTurns.get(name)
  if (known) return known
  if (knownTurns.size >= MOST_TABLES) knownTurns.clear()
  const table = fillTurns(new Float32Array(2 * count), points)
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

/** 64-bit samples that are turned into 32 bits at once, and how many bytes are written beyond the last. */
const WIDE_AT_ONCE = 4096
const SLACK = 16
/** Bytes ahead of a series. */
const LEAD = 16

/** Writes samples of 64 bits to `place` in 32, by way of `wide`. */
function narrowInto(place: number, wide: number, samples: Float64Array): void {
  const { memory, exports } = theKernel()!
  const room = new Float64Array(memory.buffer, wide, WIDE_AT_ONCE)
  for (let at = 0; at < samples.length; at += WIDE_AT_ONCE) {
    const part = samples.subarray(at, at + WIDE_AT_ONCE)
    room.set(part)
    exports.narrow(wide, place + 4 * at, Math.ceil(part.length / 4) * 4)
  }
}

/** Where sums of |U|^2, |Y|^2, Re and Im of conj(U) Y go. */
export interface CrossTarget {
  readonly uu: Float64Array
  readonly yy: Float64Array
  readonly uyRe: Float64Array
  readonly uyIm: Float64Array
}

/** Segments that are added up together: the samples they start at, ascending. */
export type Group<Target> = Target & { readonly starts: readonly number[] }

/**
 * Adds each group's segments to its sums, in 32-bit arithmetic (sums in 64). `takeMean`: the mean of each is taken
 * off. `ofSteps`: of the steps from each sample to the next instead, see `stepsOf`. No NaN inside. Only where
 * kernelCrosses(window.length).
 */
export function kernelCross(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  groups: readonly Group<CrossTarget>[],
  window: Float64Array,
  takeMean: boolean,
  ofSteps = false,
): void {
  addUp([u, y], groups, window, takeMean, ofSteps ? 'steps' : 'samples', addCross)
}

function addCross({ uu, yy, uyRe, uyIm }: CrossTarget, sums: Float64Array): void {
  for (let k = 0; k < uu.length; k++) {
    uu[k]! += sums[4 * k]! / 4
    yy[k]! += sums[4 * k + 1]! / 4
    uyRe[k]! += sums[4 * k + 2]! / 4
    uyIm[k]! += sums[4 * k + 3]! / 4
  }
}

interface PowerTarget {
  readonly power: Float64Array
}

/**
 * Adds |X|^2 of each group's segments to its `power` (size/2 + 1 bins), eight segments at once; those of samples - `less`
 * where it is given. As kernelCross.
 */
export function kernelPower(
  samples: ArrayLike<number>,
  groups: readonly Group<PowerTarget>[],
  window: Float64Array,
  takeMean: boolean,
  less?: ArrayLike<number>,
): void {
  if (less) addUp([samples, less], groups, window, takeMean, 'difference', addPower)
  else addUp([samples], groups, window, takeMean, 'samples', addPower)
}

function addPower({ power }: PowerTarget, sums: Float64Array): void {
  for (let k = 0; k < power.length; k++) power[k]! += (sums[4 * k]! + sums[4 * k + 1]!) / 4
}

/**
 * Lays one or two series into the kernel's memory, a stretch at a time, makes of them what is asked `of`, and runs the
 * kernel on each group's segments there: on pairs of both series, on those of one alone, or of their difference.
 * `add` is called with four sums per bin, which untangling left four times too large.
 */
function addUp<Target>(
  series: readonly ArrayLike<number>[],
  groups: readonly Group<Target>[],
  window: Float64Array,
  takeMean: boolean,
  of: 'samples' | 'steps' | 'difference',
  add: (target: Target, sums: Float64Array) => void,
): void {
  const { memory, exports } = theKernel()!
  const size = window.length
  const bins = size / 2 + 1
  let first = Infinity
  let end = 0
  let most = 0
  for (const { starts } of groups) {
    if (starts.length === 0) continue
    first = Math.min(first, starts[0]!)
    end = Math.max(end, starts.at(-1)! + size)
    most = Math.max(most, starts.length)
  }
  const room = Math.min(end - first, Math.max(SAMPLES_AT_ONCE, 2 * size))
  if (!(room > 0)) return
  const places = layOut(memory, {
    window: 4 * size,
    turns: 8 * size,
    work: 32 * size,
    room: 32 * size,
    notes: 64 * bins,
    sums: 32 * bins,
    silence: 4 * size,
    starts: 4 * most,
    // The sample before the first stands ahead of each.
    u: LEAD + 4 * room + SLACK,
    y: series.length > 1 ? LEAD + 4 * room + SLACK : 0,
    wide: 8 * WIDE_AT_ONCE,
  })
  const view = (place: number, count: number) => new Float32Array(memory.buffer, place, count)
  view(places.window, size).set(window)
  view(places.turns, 2 * size).set(turns(size, size))
  view(places.notes, 16 * bins).fill(0)
  view(places.silence, size).fill(0)
  const sums = new Float64Array(memory.buffer, places.sums, 4 * bins)
  const numbers = new Int32Array(memory.buffer, places.starts, most)
  const at = [places.u + LEAD, places.y + LEAD] as const
  const two = series.length > 1 && of !== 'difference'
  const done = groups.map(() => 0)
  for (let from = first; from < end; from += room - size + 1) {
    const length = Math.min(room, end - from)
    const whole = Math.ceil(length / 4) * 4
    series.forEach((samples, index) => {
      const place = at[index]!
      if (samples instanceof Float64Array)
        narrowInto(place, places.wide, samples.subarray(from, from + length))
      else copyInto(view(place, length), samples, from)
      if (of !== 'steps') return
      view(place - 4, 1)[0] = samples[Math.max(0, from - 1)]!
      exports.steps(place, whole)
    })
    if (of === 'difference') exports.subtract(at[0], at[1], whole)
    groups.forEach((group, index) => {
      const { starts } = group
      let count = 0
      let next = done[index]!
      for (; next < starts.length && starts[next]! + size <= from + length; next++)
        numbers[count++] = starts[next]! - from
      done[index] = next
      if (count === 0) return
      sums.fill(0)
      exports.cross(
        at[0],
        at[two ? 1 : 0],
        places.starts,
        count,
        two ? 0 : 1,
        size,
        places.window,
        places.turns,
        places.work,
        places.room,
        places.notes,
        places.sums,
        places.silence,
        takeMean ? 1 : 0,
      )
      add(group, sums)
    })
  }
}
