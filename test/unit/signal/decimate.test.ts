import { expect, test } from 'vitest'
import { decimated } from '../../../workers/signal/decimate.ts'
import { normalInput } from './series.ts'

// Each factor and kind of array has a loop of its own.
test.each([1, 2, 3, 4, 5])('means of %i are those of every kind of array', (factor) => {
  const values = Float32Array.from(normalInput(2, 20_003))
  values[77] = NaN
  const expected = Float64Array.from({ length: Math.floor(values.length / factor) }, (_, n) => {
    let sum = 0
    for (let k = 0; k < factor; k++) sum += values[n * factor + k]!
    return sum / factor
  })
  for (const samples of [values, Float64Array.from(values), Array.from(values)])
    expect(decimated(samples, factor).samples).toEqual(expected)
})

test('means are written into the room that is given', () => {
  const room = new Float64Array(10).fill(7)
  const { samples } = decimated(Float64Array.of(1, 3, 5, 7), 2, [], (length) => room.subarray(0, length))
  expect(samples.buffer).toBe(room.buffer)
  expect([...room.subarray(0, 3)]).toEqual([2, 6, 7])
})
