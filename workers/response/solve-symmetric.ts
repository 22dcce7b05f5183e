/** Solves (N + damp diag N) x = r by Cholesky; N given by its lower triangle. Zero where N has no pivot. */
export function solveSymmetric(lower: Float64Array, right: Float64Array, damp = 0): Float64Array {
  const size = right.length
  const factor = new Float64Array(size * size)
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = lower[i * size + j]! * (i === j ? 1 + damp : 1)
      for (let k = 0; k < j; k++) sum -= factor[i * size + k]! * factor[j * size + k]!
      if (i === j) factor[i * size + i] = Math.sqrt(Math.max(sum, 1e-14 * lower[i * size + i]!))
      else factor[i * size + j] = factor[j * size + j]! > 0 ? sum / factor[j * size + j]! : 0
    }
  }
  const solution = Float64Array.from(right)
  for (let i = 0; i < size; i++) {
    for (let k = 0; k < i; k++) solution[i]! -= factor[i * size + k]! * solution[k]!
    solution[i] = factor[i * size + i]! > 0 ? solution[i]! / factor[i * size + i]! : 0
  }
  for (let i = size - 1; i >= 0; i--) {
    for (let k = i + 1; k < size; k++) solution[i]! -= factor[k * size + i]! * solution[k]!
    solution[i] = factor[i * size + i]! > 0 ? solution[i]! / factor[i * size + i]! : 0
  }
  return solution
}
