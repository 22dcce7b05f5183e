/** A linear least-squares fit. */
export interface LinearFit {
  readonly coefficients: Float64Array
  readonly standardErrors: Float64Array
  /** sqrt(residual sum of squares / degrees of freedom); NaN without degrees of freedom. */
  readonly residualSd: number
  readonly residualSquares: number
  readonly dof: number
  readonly residuals: Float64Array
}

/** A column that keeps less than this of its length beside the columns before it says nothing of its own. */
const DEPENDENT = 1e-11

/**
 * Least squares of y on the columns, by Householder's QR on columns scaled to length 1, refined once on the residual: stable
 * where normal equations lose half the digits (Golub & Van Loan, ch. 5 [from memory]). No constant is added.
 * Null when columns are linearly dependent or outnumber the values. NaN is an error.
 */
export function leastSquares(columns: readonly ArrayLike<number>[], y: ArrayLike<number>): LinearFit | null {
  const rows = y.length
  const size = columns.length
  if (size === 0 || rows < size) return null
  for (const column of columns) {
    if (column.length !== rows) throw new Error(`column of ${column.length} values for ${rows} rows`)
  }
  const scales = new Float64Array(size)
  const work = columns.map((column, k) => {
    const values = Float64Array.from(column)
    scales[k] = length(values, 0)
    if (!Number.isFinite(scales[k]!)) throw new Error('least squares of NaN or infinity')
    return scales[k]! > 0 ? values.map((value) => value / scales[k]!) : values
  })
  const reflectors: Float64Array[] = []
  const diagonal = new Float64Array(size)
  for (let k = 0; k < size; k++) {
    const column = work[k]!
    const norm = length(column, k)
    if (!(norm > DEPENDENT)) return null
    const sign = column[k]! < 0 ? -1 : 1
    const reflector = new Float64Array(rows)
    for (let n = k; n < rows; n++) reflector[n] = column[n]!
    reflector[k] = column[k]! + sign * norm
    const norm2 = length(reflector, k)
    for (let n = k; n < rows; n++) reflector[n]! /= norm2
    reflectors.push(reflector)
    diagonal[k] = -sign * norm
    for (let j = k + 1; j < size; j++) reflect(reflector, work[j]!, k)
  }
  const solve = (right: Float64Array): Float64Array => {
    const rotated = Float64Array.from(right)
    reflectors.forEach((reflector, k) => reflect(reflector, rotated, k))
    const solution = new Float64Array(size)
    for (let k = size - 1; k >= 0; k--) {
      let sum = rotated[k]!
      for (let j = k + 1; j < size; j++) sum -= work[j]![k]! * solution[j]!
      solution[k] = sum / diagonal[k]!
    }
    return solution.map((value, k) => value / scales[k]!)
  }
  const target = Float64Array.from(y)
  const coefficients = solve(target)
  const correction = solve(residualsOf(columns, target, coefficients))
  for (let k = 0; k < size; k++) coefficients[k]! += correction[k]!
  const residuals = residualsOf(columns, target, coefficients)
  const residualSquares = length(residuals, 0) ** 2
  const dof = rows - size
  const residualSd = dof > 0 ? Math.sqrt(residualSquares / dof) : NaN
  const standardErrors = new Float64Array(size)
  // (R'R)^-1 by the rows of R^-1: its squared length per coefficient.
  for (let k = 0; k < size; k++) {
    const unit = new Float64Array(size)
    unit[k] = 1
    const row = new Float64Array(size)
    for (let j = k; j < size; j++) {
      let sum = unit[j]!
      for (let i = k; i < j; i++) sum -= row[i]! * work[j]![i]!
      row[j] = sum / diagonal[j]!
    }
    standardErrors[k] = (residualSd * length(row, 0)) / scales[k]!
  }
  return { coefficients, standardErrors, residualSd, residualSquares, dof, residuals }
}

/** Euclidean length of the values from `start` on, without overflow on the way. */
function length(values: Float64Array, start: number): number {
  let largest = 0
  for (let n = start; n < values.length; n++) {
    const size = Math.abs(values[n]!)
    if (size > largest || Number.isNaN(size)) largest = size
  }
  if (!(largest > 0)) return largest
  let sum = 0
  for (let n = start; n < values.length; n++) sum += (values[n]! / largest) ** 2
  return largest * Math.sqrt(sum)
}

function reflect(reflector: Float64Array, values: Float64Array, start: number): void {
  let product = 0
  for (let n = start; n < values.length; n++) product += reflector[n]! * values[n]!
  for (let n = start; n < values.length; n++) values[n]! -= 2 * product * reflector[n]!
}

/** y - X b, each sum carried with its rounding error (Neumaier): what the refinement lives on. */
function residualsOf(
  columns: readonly ArrayLike<number>[],
  y: Float64Array,
  coefficients: Float64Array,
): Float64Array {
  return y.map((value, n) => {
    let sum = value
    let lost = 0
    for (let k = 0; k < columns.length; k++) {
      const term = -columns[k]![n]! * coefficients[k]!
      const next = sum + term
      lost += Math.abs(sum) >= Math.abs(term) ? sum - next + term : term - next + sum
      sum = next
    }
    return sum + lost
  })
}
