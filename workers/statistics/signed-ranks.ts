import { normalCdf, normalQuantile } from './distributions.ts'
import { sortedMedian } from './moments.ts'

/** Wilcoxon's signed-rank test of paired differences against 0. */
export interface SignedRankTest {
  /** Sum of the ranks of the positive differences (R calls it V). */
  readonly positiveRanks: number
  /** Differences that are not 0. */
  readonly n: number
  readonly p: number
  /** P(at least this many positive ranks): small when the differences lie above 0. */
  readonly pGreater: number
  readonly pLess: number
  /** False: normal approximation with continuity correction. */
  readonly exact: boolean
}

/** Up to so many differences the distribution is counted out; beyond, it is normal to all practical purposes. */
const MOST_EXACT = 200

/**
 * Wilcoxon's signed-rank test (Biometrics Bulletin 1, 1945 [from memory]). Differences of 0 are dropped; ties share
 * their mean rank, and the distribution is then that of these very ranks under all 2^n choices of sign, counted out:
 * exact with ties too. NaN is an error. With no difference left p is 1.
 */
export function signedRankTest(differences: ArrayLike<number>): SignedRankTest {
  const kept = Array.from(differences).filter((value) => value !== 0)
  if (kept.some(Number.isNaN)) throw new Error('signed ranks of NaN')
  const n = kept.length
  if (n === 0) return { positiveRanks: 0, n, p: 1, pGreater: 1, pLess: 1, exact: true }
  const ranks = midRanks(kept.map(Math.abs))
  let twice = 0
  kept.forEach((value, k) => {
    if (value > 0) twice += Math.round(2 * ranks[k]!)
  })
  const positiveRanks = twice / 2
  if (n > MOST_EXACT) {
    const middle = (n * (n + 1)) / 4
    const spread = Math.sqrt(ranks.reduce((sum, rank) => sum + rank * rank, 0) / 4)
    const pGreater = normalCdf(-(positiveRanks - middle - 0.5) / spread)
    const pLess = normalCdf((positiveRanks - middle + 0.5) / spread)
    return { positiveRanks, n, p: Math.min(1, 2 * Math.min(pGreater, pLess)), pGreater, pLess, exact: false }
  }
  const share = signShares(ranks.map((rank) => Math.round(2 * rank)))
  let pLess = 0
  let pGreater = 0
  for (let sum = 0; sum < share.length; sum++) {
    if (sum <= twice) pLess += share[sum]!
    if (sum >= twice) pGreater += share[sum]!
  }
  return { positiveRanks, n, p: Math.min(1, 2 * Math.min(pGreater, pLess)), pGreater, pLess, exact: true }
}

/** Ranks from 1; equal values share the mean of theirs. */
export function midRanks(values: readonly number[]): number[] {
  const order = values.map((_, k) => k).sort((i, j) => values[i]! - values[j]!)
  const ranks = new Array<number>(values.length)
  for (let start = 0; start < order.length;) {
    let end = start + 1
    while (end < order.length && values[order[end]!] === values[order[start]!]) end++
    for (let k = start; k < end; k++) ranks[order[k]!] = 0.5 * (start + 1 + end)
    start = end
  }
  return ranks
}

/** Probability of each sum when every one of these whole numbers is taken or left with probability a half. */
export function signShares(sizes: readonly number[]): Float64Array {
  const total = sizes.reduce((sum, size) => sum + size, 0)
  const share = new Float64Array(total + 1)
  share[0] = 1
  let reach = 0
  for (const size of sizes) {
    reach += size
    for (let sum = reach; sum >= 0; sum--)
      share[sum] = 0.5 * (share[sum]! + (sum >= size ? share[sum - size]! : 0))
  }
  return share
}

export interface ShiftEstimate {
  readonly effect: number
  readonly low: number
  readonly high: number
  /** The coverage that the count of pairs allows, at least the one asked for; below it when there are too few pairs. */
  readonly coverage: number
}

/**
 * Hodges and Lehmann's estimate of the differences' centre, the median of all means of two (Ann. Math. Stat. 34, 1963
 * [from memory]), and the interval that the exact signed-rank test leaves in. With so few pairs that no interval reaches the
 * coverage, it is the widest there is, and `coverage` says what that one has.
 */
export function hodgesLehmann(differences: ArrayLike<number>, coverage = 0.95): ShiftEstimate {
  const n = differences.length
  if (n === 0) return { effect: NaN, low: NaN, high: NaN, coverage: 0 }
  const means = new Float64Array((n * (n + 1)) / 2)
  let at = 0
  for (let i = 0; i < n; i++)
    for (let j = i; j < n; j++) means[at++] = 0.5 * (differences[i]! + differences[j]!)
  means.sort()
  // Ties of sums at 0 and -0 sort apart; both are 0.
  const effect = sortedMedian(means) + 0
  const tail = 0.5 * (1 - coverage)
  let cut = 0
  let below = 0
  if (n > MOST_EXACT) {
    const spread = Math.sqrt((n * (n + 1) * (2 * n + 1)) / 24)
    cut = Math.max(0, Math.floor((n * (n + 1)) / 4 + normalQuantile(tail) * spread))
    below = tail
  } else {
    const share = signShares(Array.from({ length: n }, (_, k) => k + 1))
    while (below + share[cut]! <= tail) below += share[cut++]!
    if (cut === 0) below = share[0]!
  }
  const index = Math.max(0, cut - 1)
  return {
    effect,
    low: means[index]! + 0,
    high: means[means.length - 1 - index]! + 0,
    coverage: 1 - 2 * below,
  }
}

/** Fewest pairs for which the exact two-sided test can reach this p: 2 / 2^n <= p. */
export function fewestPairs(p: number): number {
  return Math.ceil(1 + Math.log2(1 / p))
}
