/**
 * Fills a table with cos and -sin of 2 pi k / points as pairs, k from 0 on: what transforms of so many points turn by.
 * @returns the table
 */
export function fillTurns<Table extends Float32Array | Float64Array>(table: Table, points: number): Table {
  for (let k = 0; 2 * k < table.length; k++) {
    table[2 * k] = Math.cos((2 * Math.PI * k) / points)
    table[2 * k + 1] = -Math.sin((2 * Math.PI * k) / points)
  }
  return table
}
