import { afterEach, beforeEach, expect, test, vi } from 'vitest'
import { Settle } from '../../../renderer/work/settle.ts'

beforeEach(() => void vi.useFakeTimers())
afterEach(() => void vi.useRealTimers())

test('acts once, when nothing has asked for the whole time', () => {
  const act = vi.fn()
  const settle = new Settle(100, act)
  for (let frame = 0; frame < 30; frame++) {
    settle.ask()
    vi.advanceTimersByTime(16)
  }
  expect(act).not.toHaveBeenCalled()
  vi.advanceTimersByTime(83)
  expect(act).not.toHaveBeenCalled()
  vi.advanceTimersByTime(2)
  expect(act).toHaveBeenCalledTimes(1)
  vi.advanceTimersByTime(1000)
  expect(act).toHaveBeenCalledTimes(1)
  settle.ask()
  vi.advanceTimersByTime(101)
  expect(act).toHaveBeenCalledTimes(2)
})

test('what was dropped does not come; what is asked for afterwards does', () => {
  const act = vi.fn()
  const settle = new Settle(100, act)
  settle.ask()
  settle.drop()
  vi.advanceTimersByTime(500)
  expect(act).not.toHaveBeenCalled()
  settle.ask()
  vi.advanceTimersByTime(101)
  expect(act).toHaveBeenCalledTimes(1)
})

test('many asks cost one timer', () => {
  const settle = new Settle(100, () => undefined)
  for (let ask = 0; ask < 50; ask++) settle.ask()
  expect(vi.getTimerCount()).toBe(1)
})
