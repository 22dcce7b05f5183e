import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest'
import type { FlightOutline } from '../../../renderer/pair/first-picture.ts'
import { Outlines } from '../../../renderer/pair/outlines.ts'
import { WorkerPool } from '../../../renderer/work/worker-pool.ts'

const named = (name: string): FlightOutline => ({
  name,
  largest_dps: 1,
  t_s: new Float64Array(1),
  gyro_dps: {},
})

describe('outlines of the chosen flights', () => {
  beforeEach(() => void vi.useFakeTimers())
  afterEach(() => void vi.useRealTimers())

  test('are fetched once when they are chosen, and let go of with the choice', async () => {
    const fetch = vi.fn((flightId: number) => Promise.resolve(named(`flight ${flightId}`)))
    const outlines = new Outlines(fetch)
    outlines.choose([1, 2])
    expect((await outlines.of(1))?.name).toBe('flight 1')
    outlines.choose([1, 3])
    await outlines.of(3)
    expect(fetch.mock.calls).toEqual([[1], [2], [3]])
    await outlines.of(2)
    await outlines.of(2)
    expect(fetch).toHaveBeenCalledTimes(5)
  })

  test('are fetched again after a change at the desk, once it is quiet', async () => {
    let change = 0
    const outlines = new Outlines((flightId) => Promise.resolve(named(`flight ${flightId}, ${change}`)))
    outlines.choose([1])
    change = 1
    outlines.renew()
    // Whoever asks at once does not get what was known before.
    expect((await outlines.of(1))?.name).toBe('flight 1, 1')
    change = 2
    outlines.renew()
    vi.runAllTimers()
    change = 3
    expect((await outlines.of(1))?.name).toBe('flight 1, 2')
  })

  test('that could not be fetched are asked for again', async () => {
    const fetch = vi.fn<(flightId: number) => Promise<FlightOutline | null>>()
    fetch.mockRejectedValueOnce(new Error('gone')).mockResolvedValueOnce(null)
    const outlines = new Outlines(fetch)
    outlines.choose([1])
    await expect(outlines.of(1)).rejects.toThrow('gone')
    expect(await outlines.of(1)).toBeNull()
  })
})

test('jobs that are given to a pool at once get a worker each, and one that is stopped ends its own alone', async () => {
  const ended: number[] = []
  let made = 0
  const pool = new WorkerPool<object>(() => {
    const which = (made += 1)
    const worker = {
      addEventListener: () => undefined,
      removeEventListener: () => undefined,
      postMessage: () => undefined,
      terminate: () => ended.push(which),
    }
    return worker as unknown as Worker
  }, 2)
  const stop = new AbortController()
  const lasting = Promise.withResolvers<string>()
  const stopped = pool.run(() => new Promise(() => undefined), stop.signal)
  const other = pool.run(() => lasting.promise)
  let third = 'waits'
  const last = pool.run(() => Promise.resolve((third = 'runs')))
  await new Promise((resolve) => setTimeout(resolve))
  expect(third).toBe('waits')
  stop.abort()
  await expect(stopped).rejects.toMatchObject({ code: 'cancelled' })
  expect(ended).toEqual([1])
  lasting.resolve('done')
  expect(await other).toBe('done')
  expect(await last).toBe('runs')
  expect(ended).toEqual([1])
})
