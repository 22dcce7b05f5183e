/** Long drawing in pieces: one a task, the newest of each owner. */
import { afterEach, beforeEach, expect, test, vi } from 'vitest'
import { InTurn } from '../../../renderer/work/in-turn.ts'

beforeEach(() => {
  vi.useFakeTimers()
})
afterEach(() => {
  vi.useRealTimers()
})

test('one job a task, in order; asked for again, the newest takes the turn; dropped, none does', () => {
  const turns = new InTurn()
  const done: string[] = []
  const [one, two, three] = [{}, {}, {}]
  turns.ask(one, () => done.push('one, old'))
  turns.ask(two, () => done.push('two'))
  turns.ask(three, () => done.push('three'))
  turns.ask(one, () => done.push('one'))
  turns.drop(three)
  expect(done).toEqual([])
  vi.advanceTimersToNextTimer()
  expect(done).toEqual(['one'])
  vi.runAllTimers()
  expect(done).toEqual(['one', 'two'])
})

test('a job that asks for more gets another turn, and one that fails does not end the row', () => {
  const turns = new InTurn()
  const done: string[] = []
  turns.ask({}, () => turns.ask({}, () => done.push('later')))
  turns.ask({}, () => {
    throw new Error('a fault')
  })
  turns.ask({}, () => done.push('after'))
  vi.advanceTimersToNextTimer()
  expect(() => vi.advanceTimersToNextTimer()).toThrow('a fault')
  vi.runAllTimers()
  expect(done).toEqual(['after', 'later'])
})
