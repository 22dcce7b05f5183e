import type { Section } from './filters.ts'

/**
 * Runs a chain forward in time: what the craft itself could have computed, delay included. Transposed direct form
 * II, starting from rest, or settled on the first sample (`settled`), which avoids a transient at the start.
 * A NaN spreads to all later samples: filter gapless stretches apart (see runsOf).
 */
export function filterCausal(
  chain: readonly Section[],
  samples: ArrayLike<number>,
  settled = false,
): Float64Array {
  const output = new Float64Array(samples)
  runChain(chain, output, settled ? (output[0] ?? 0) : 0, 1)
  return output
}

/**
 * Runs a chain forward and backward, so that nothing is delayed and the magnitude counts twice. The ends are
 * continued by point reflection over 3 (2 sections + 1) samples, less one for each section of first order, as
 * scipy.signal.sosfiltfilt does it. `room`, where long enough, is worked in, and the result is a part of it: fresh memory
 * costs a fifth of the filtering. Throws when the series is not longer than that. NaN: as in filterCausal.
 */
export function filterZeroPhase(
  chain: readonly Section[],
  samples: ArrayLike<number>,
  room?: Float64Array,
): Float64Array {
  const count = samples.length
  const firstOrder = Math.min(
    chain.filter(({ b2 }) => b2 === 0).length,
    chain.filter(({ a2 }) => a2 === 0).length,
  )
  const edge = 3 * (2 * chain.length + 1 - firstOrder)
  if (count <= edge) throw new Error(`zero-phase filter needs more than ${edge} samples: ${count}`)
  const length = count + 2 * edge
  const work = room && room.length >= length ? room.subarray(0, length) : new Float64Array(length)
  const first = samples[0]!
  const last = samples[count - 1]!
  for (let n = 0; n < edge; n++) {
    work[n] = 2 * first - samples[edge - n]!
    work[count + edge + n] = 2 * last - samples[count - 2 - n]!
  }
  work.set(samples, edge)
  runChain(chain, work, work[0]!, 1)
  runChain(chain, work, work[work.length - 1]!, -1)
  return work.subarray(edge, edge + count)
}

/**
 * In place, forward or backward; the memory starts as if `rest` had stood there for ever. Two sections at a time, which
 * hides latency.
 */
function runChain(chain: readonly Section[], work: Float64Array, rest: number, direction: 1 | -1): void {
  let level = rest
  for (let index = 0; index < chain.length; index += 2) {
    const first = chain[index]!
    const second = chain[index + 1]
    level = second ? runTwo(first, second, work, level, direction) : runOne(first, work, level, direction)
  }
}

/** A section's memory when its input has stood at `level`, and its output then. */
function settledMemory({ b0, b1, b2, a1, a2 }: Section, level: number) {
  const output = (level * (b0 + b1 + b2)) / (1 + a1 + a2)
  const far = b2 * level - a2 * output
  return { near: b1 * level - a1 * output + far, far, output }
}

/*
 * Transposed direct form II with the output put into the memory's equations, near' = (b1 - a1 b0) x + far - a1 near and
 * far' = (b2 - a2 b0) x - a2 near: each step then waits for one multiplication and one addition less of the one before.
 */

function runOne(section: Section, work: Float64Array, level: number, direction: 1 | -1): number {
  const { b0, b1, b2, a1, a2 } = section
  const e1 = b1 - a1 * b0
  const e2 = b2 - a2 * b0
  const memory = settledMemory(section, level)
  let { near, far } = memory
  const start = direction === 1 ? 0 : work.length - 1
  for (let n = start; n >= 0 && n < work.length; n += direction) {
    const x = work[n]!
    work[n] = b0 * x + near
    const next = e1 * x + far - a1 * near
    far = e2 * x - a2 * near
    near = next
  }
  return memory.output
}

function runTwo(
  first: Section,
  second: Section,
  work: Float64Array,
  level: number,
  direction: 1 | -1,
): number {
  const { b0, b1, b2, a1, a2 } = first
  const { b0: d0, b1: d1, b2: d2, a1: c1, a2: c2 } = second
  const e1 = b1 - a1 * b0
  const e2 = b2 - a2 * b0
  const g1 = d1 - c1 * d0
  const g2 = d2 - c2 * d0
  const of1 = settledMemory(first, level)
  const of2 = settledMemory(second, of1.output)
  let { near: near1, far: far1 } = of1
  let { near: near2, far: far2 } = of2
  const start = direction === 1 ? 0 : work.length - 1
  for (let n = start; n >= 0 && n < work.length; n += direction) {
    const x = work[n]!
    const y = b0 * x + near1
    const next1 = e1 * x + far1 - a1 * near1
    far1 = e2 * x - a2 * near1
    near1 = next1
    work[n] = d0 * y + near2
    const next2 = g1 * y + far2 - c1 * near2
    far2 = g2 * y - c2 * near2
    near2 = next2
  }
  return of2.output
}
