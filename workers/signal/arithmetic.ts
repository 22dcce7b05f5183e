/**
 * Arithmetic of whole arrays, entry by entry, into fresh ones. Functions of their own, not callbacks: what engines make of a
 * callback goes away with it.
 */

/** a + b */
export function sum(a: Float64Array, b: Float64Array): Float64Array {
  const all = new Float64Array(a.length)
  for (let k = 0; k < all.length; k++) all[k] = a[k]! + b[k]!
  return all
}

/** a - b */
export function difference(a: Float64Array, b: Float64Array): Float64Array {
  const rest = new Float64Array(a.length)
  for (let k = 0; k < rest.length; k++) rest[k] = a[k]! - b[k]!
  return rest
}

/** a b */
export function product(a: Float64Array, b: Float64Array): Float64Array {
  const all = new Float64Array(a.length)
  for (let k = 0; k < all.length; k++) all[k] = a[k]! * b[k]!
  return all
}

/** Sums of each entry and `reach` to either side of it, from entry `first` on: what lies outside takes no part. */
export function sumsAround(values: Float64Array, reach: number, first = 0): Float64Array {
  const sums = new Float64Array(values.length)
  for (let k = 0; k < sums.length; k++) {
    const last = Math.min(values.length - 1, k + reach)
    for (let j = Math.max(first, k - reach); j <= last; j++) sums[k]! += values[j]!
  }
  return sums
}
