import { inStretches } from './stretches.ts'

/**
 * Means of `factor` samples each; what is left over at the end is dropped. Mean n stands for the middle of samples
 * n factor .. (n+1) factor - 1. A NaN makes its mean NaN, and so does a break inside the `factor` samples; breaks
 * between two means come back as breaks. Both sides of a transfer function may be brought down like this without
 * changing it, but for what folds: the mean passes |sinc(f / new rate)| of it. The means are written into the array that `room`
 * gives for their number, a fresh one when left out.
 */
export function decimated(
  samples: ArrayLike<number>,
  factor: number,
  breaks: ArrayLike<number> = [],
  room: (length: number) => Float64Array = (length) => new Float64Array(length),
): { readonly samples: Float64Array; readonly breaks: number[] } {
  if (!(Number.isInteger(factor) && factor >= 1))
    throw new Error(`factor must be a positive integer: ${factor}`)
  const means = room(Math.floor(samples.length / factor))
  inStretches(means.length, (from, to) => {
    if (samples instanceof Float64Array && factor === 2) meansOfPairs(samples, means, from, to)
    else if (!(samples instanceof Float32Array)) meansOf(samples, factor, means, from, to)
    else if (factor === 4) meansOfFour(samples, means, from, to)
    else if (factor === 5) meansOfFive(samples, means, from, to)
    else meansOfSingles(samples, factor, means, from, to)
  })
  const between: number[] = []
  for (let k = 0; k < breaks.length; k++) {
    const index = breaks[k]!
    if (index % factor === 0) between.push(index / factor)
    else if (Math.floor(index / factor) < means.length) means[Math.floor(index / factor)] = NaN
  }
  return { samples: means, breaks: between }
}

function meansOf(
  samples: ArrayLike<number>,
  factor: number,
  means: Float64Array,
  from: number,
  to: number,
): void {
  for (let n = from; n < to; n++) {
    let sum = 0
    const end = (n + 1) * factor
    for (let k = n * factor; k < end; k++) sum += samples[k]!
    means[n] = sum / factor
  }
}

/** From 500 to 250 Hz, written out as below. */
function meansOfPairs(samples: Float64Array, means: Float64Array, from: number, to: number): void {
  let k = 2 * from
  for (let n = from; n < to; n++) {
    means[n] = (samples[k]! + samples[k + 1]!) / 2
    k += 2
  }
}

/** The same for a flight's channels, of one kind of array alone: engines run that several times faster. */
function meansOfSingles(
  samples: Float32Array,
  factor: number,
  means: Float64Array,
  from: number,
  to: number,
): void {
  for (let n = from; n < to; n++) {
    let sum = 0
    const end = (n + 1) * factor
    for (let k = n * factor; k < end; k++) sum += samples[k]!
    means[n] = sum / factor
  }
}

/** The commonest case, from 2 kHz to 500 Hz, written out: an inner loop costs more than its four sums. */
function meansOfFour(samples: Float32Array, means: Float64Array, from: number, to: number): void {
  let k = 4 * from
  for (let n = from; n < to; n++) {
    means[n] = (samples[k]! + samples[k + 1]! + samples[k + 2]! + samples[k + 3]!) / 4
    k += 4
  }
}

/** From 2 kHz to the 400 Hz at which shaking is looked for. */
function meansOfFive(samples: Float32Array, means: Float64Array, from: number, to: number): void {
  let k = 5 * from
  for (let n = from; n < to; n++) {
    means[n] = (samples[k]! + samples[k + 1]! + samples[k + 2]! + samples[k + 3]! + samples[k + 4]!) / 5
    k += 5
  }
}
