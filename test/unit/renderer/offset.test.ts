import { beforeEach, describe, expect, test } from 'vitest'
import { undoStack } from '../../../renderer/commands/undo.svelte.ts'
import { Offset } from '../../../renderer/compare/offset.svelte.ts'

let told: number
let offset: Offset
beforeEach(() => {
  told = 0
  offset = new Offset(() => told++)
  offset.begin({ offset_s: 1, sure: 'likely', reason: '' } as never)
})

describe('how B lies over A', () => {
  test('a drag is one step of undo, redone to where it ended', async () => {
    for (let step = 1; step <= 20; step++) offset.set(1 + step / 100, 'hand', 1000 + 30 * step)
    expect(offset.value_s).toBeCloseTo(1.2)
    expect(told).toBe(20)
    await undoStack.undo()
    expect([offset.value_s, offset.from]).toEqual([1, 'sticks'])
    await undoStack.redo()
    expect([offset.value_s, offset.from]).toEqual([1.2, 'hand'])
  })

  test('a drag that rests on its way is still one step, the next drag another', async () => {
    const [one, other] = [{}, {}]
    offset.set(2, 'hand', 1000, one)
    offset.set(3, 'hand', 9000, one)
    offset.set(4, 'hand', 9100, other)
    await undoStack.undo()
    expect(offset.value_s).toBe(3)
    await undoStack.undo()
    expect(offset.value_s).toBe(1)
  })

  test('after a pause, by a pair and back to the sticks are steps of their own', async () => {
    offset.set(2, 'hand', 1000)
    offset.set(3, 'hand', 9000)
    offset.set(4, 'pair', 9100)
    offset.set(1, 'sticks', 9200)
    const seen = []
    for (let step = 0; step < 4; step++) {
      await undoStack.undo()
      seen.push([offset.value_s, offset.from])
    }
    expect(seen).toEqual([
      [4, 'pair'],
      [3, 'hand'],
      [2, 'hand'],
      [1, 'sticks'],
    ])
  })

  test('nothing that is no number moves B', () => {
    offset.set(Number.NaN, 'hand')
    expect(offset.value_s).toBe(1)
    expect(told).toBe(0)
  })
})
