/**
 * The value that stands at `index` when the values are sorted, without sorting them all (Hoare's selection,
 * Comm. ACM 4(7), 1961, algorithm 65 [cited from memory]). Reorders `values`; they must not hold NaN.
 * NaN for an empty array.
 */
export function nthSmallest(values: Float64Array, index: number): number {
  let left = 0
  let right = values.length - 1
  if (right < 0) return NaN
  while (left < right) {
    // The middle of three as pivot: sorted and constant inputs stay fast.
    const pivot = middleOf(
      values[left] as number,
      values[(left + right) >> 1] as number,
      values[right] as number,
    )
    let low = left
    let high = right
    while (low <= high) {
      while ((values[low] as number) < pivot) low += 1
      while ((values[high] as number) > pivot) high -= 1
      if (low > high) break
      const held = values[low] as number
      values[low] = values[high] as number
      values[high] = held
      low += 1
      high -= 1
    }
    if (index <= high) right = high
    else if (index >= low) left = low
    else break
  }
  return values[index] ?? NaN
}

function middleOf(a: number, b: number, c: number): number {
  return a < b ? (b < c ? b : a < c ? c : a) : a < c ? a : b < c ? c : b
}
