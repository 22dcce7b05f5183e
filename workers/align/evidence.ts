import { correlate } from '../signal/correlate.ts'

/** Lags, in samples, over which a channel's likeness to itself is counted. */
const MEMORY = 500

/** One channel of both flights, on a common grid. */
export interface ChannelPair {
  readonly name: string
  readonly a: Float64Array
  readonly b: Float64Array
}

/** What all channels together say about each lag from firstLag on. */
export interface Evidence {
  readonly firstLag: number
  /** In standard deviations of chance; NaN where the flights overlap too little. */
  readonly score: Float64Array
  /** Correlation of the channel that says most at the lag, and its index. */
  readonly r: Float64Array
  readonly strongest: Int32Array
  readonly overlap: Float64Array
}

/**
 * Evidence that the two flights belong together at each lag (entry k compares a[n] with b[n + firstLag + k]):
 * sqrt(2 L) with L = sum over channels of -N/2 ln(1 - r^2), the likelihood gained over "unrelated" by channels
 * of correlation r > 0. N is the channel's number of independent samples, its overlap divided by
 * 1 + 2 sum of rho_a rho_b (Bartlett 1935 [from memory]): a slow channel shows less than a lively one as long, and a
 * channel that does not repeat takes nothing away from one that does. NaN samples take no part.
 */
export function evidenceOf(
  pairs: readonly ChannelPair[],
  firstLag: number,
  lastLag: number,
  minOverlap: number,
): Evidence {
  const lags = lastLag - firstLag + 1
  const likelihood = new Float64Array(lags)
  const most = new Float64Array(lags)
  const r = new Float64Array(lags).fill(NaN)
  const overlap = new Float64Array(lags)
  const strongest = new Int32Array(lags)
  pairs.forEach(({ a, b }, index) => {
    const channel = correlate(a, b, firstLag, lastLag)
    const memory = sharedMemory(a, b)
    for (let k = 0; k < lags; k++) {
      if (!(channel.overlap[k]! >= minOverlap) || Number.isNaN(channel.r[k])) continue
      const likeness = Math.max(0, Math.min(0.999999, channel.r[k]!))
      const gain = ((-0.5 * channel.overlap[k]!) / memory) * Math.log(1 - likeness ** 2)
      likelihood[k]! += gain
      overlap[k] = Math.max(overlap[k]!, channel.overlap[k]!)
      if (Number.isNaN(r[k]) || gain > most[k]!) {
        most[k] = gain
        r[k] = channel.r[k]!
        strongest[k] = index
      }
    }
  })
  const score = likelihood.map((value, k) => (Number.isNaN(r[k]) ? NaN : Math.sqrt(2 * value)))
  return { firstLag, score, r, strongest, overlap }
}

function sharedMemory(u: Float64Array, y: Float64Array): number {
  const reach = Math.min(MEMORY, (Math.min(u.length, y.length) - 1) >> 1)
  const ofU = correlate(u, u, 0, reach).r
  const ofY = correlate(y, y, 0, reach).r
  let memory = 1
  for (let k = 1; k <= reach; k++) memory += 2 * (1 - k / (reach + 1)) * ofU[k]! * ofY[k]!
  return Math.max(1, memory || 1)
}
