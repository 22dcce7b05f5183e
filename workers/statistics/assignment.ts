/**
 * The assignment of rows to columns of least total cost, each row and column at most once, as many as the smaller side
 * has. Hungarian method with potentials (Kuhn 1955; shortest augmenting paths after Jonker & Volgenant 1987 [from memory]),
 * O(rows^2 columns). Costs must be finite.
 *
 * @returns per row its column, or -1.
 */
export function assign(cost: readonly ArrayLike<number>[]): Int32Array {
  const rows = cost.length
  const columns = rows === 0 ? 0 : cost[0]!.length
  for (const row of cost) {
    if (row.length !== columns) throw new Error(`rows of ${columns} and ${row.length} columns`)
    for (let k = 0; k < columns; k++)
      if (!Number.isFinite(row[k]!)) throw new Error(`cost must be finite: ${row[k]}`)
  }
  if (rows > columns) {
    const byColumn = assign(Array.from({ length: columns }, (_, k) => cost.map((row) => row[k]!)))
    const byRow = new Int32Array(rows).fill(-1)
    byColumn.forEach((row, column) => (byRow[row] = column))
    return byRow
  }
  // Row and column 0 stand for "none": indices below count from 1.
  const rowPotential = new Float64Array(rows + 1)
  const columnPotential = new Float64Array(columns + 1)
  const rowOf = new Int32Array(columns + 1)
  const before = new Int32Array(columns + 1)
  for (let row = 1; row <= rows; row++) {
    rowOf[0] = row
    let column = 0
    const least = new Float64Array(columns + 1).fill(Infinity)
    const used = new Uint8Array(columns + 1)
    do {
      used[column] = 1
      const here = rowOf[column]!
      let step = Infinity
      let next = 0
      for (let k = 1; k <= columns; k++) {
        if (used[k]) continue
        const reduced = cost[here - 1]![k - 1]! - rowPotential[here]! - columnPotential[k]!
        if (reduced < least[k]!) {
          least[k] = reduced
          before[k] = column
        }
        if (least[k]! < step) {
          step = least[k]!
          next = k
        }
      }
      for (let k = 0; k <= columns; k++) {
        if (used[k]) {
          rowPotential[rowOf[k]!]! += step
          columnPotential[k]! -= step
        } else least[k]! -= step
      }
      column = next
    } while (rowOf[column] !== 0)
    do {
      const previous = before[column]!
      rowOf[column] = rowOf[previous]!
      column = previous
    } while (column !== 0)
  }
  const assigned = new Int32Array(rows).fill(-1)
  for (let k = 1; k <= columns; k++) if (rowOf[k]! > 0) assigned[rowOf[k]! - 1] = k - 1
  return assigned
}

/** Total cost of an assignment. */
export function costOf(cost: readonly ArrayLike<number>[], assigned: Int32Array): number {
  let sum = 0
  assigned.forEach((column, row) => (sum += column >= 0 ? cost[row]![column]! : 0))
  return sum
}
