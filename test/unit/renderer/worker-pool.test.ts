import { expose } from 'comlink'
import { MessageChannel } from 'node:worker_threads'
import { expect, test } from 'vitest'
import { WorkerPool } from '../../../renderer/work/worker-pool.ts'

interface Api {
  rehearse(part: number): boolean
  job(): string
}

/** A pool whose workers answer from this thread; what they were asked is noted. */
function pool(size: number, parts: number) {
  const asked: string[] = []
  let started = 0
  const made = new WorkerPool<Api>(() => {
    const name = started++
    const { port1, port2 } = new MessageChannel()
    const api: Api = {
      rehearse(part) {
        asked.push(`${name}: part ${part}`)
        return part + 1 < parts
      },
      job() {
        asked.push(`${name}: job`)
        return 'done'
      },
    }
    expose(api, port2 as never)
    port1.unref()
    port2.unref()
    return Object.assign(port1, { terminate: () => port1.close() }) as never
  }, size)
  return { made, asked }
}

test('every worker rehearses all parts, once', async () => {
  const { made, asked } = pool(2, 3)
  await made.rehearse((api, part) => api.rehearse(part))
  for (const worker of [0, 1]) {
    expect(asked.filter((line) => line.startsWith(`${worker}:`))).toEqual(
      [0, 1, 2].map((part) => `${worker}: part ${part}`),
    )
  }
  await made.rehearse((api, part) => api.rehearse(part))
  expect(asked).toHaveLength(6)
})

test('a real job ends the rehearsal, and none begins after one', async () => {
  const { made, asked } = pool(1, 1000)
  const rehearsing = made.rehearse((api, part) => api.rehearse(part))
  expect(await made.run((api) => api.job())).toBe('done')
  await rehearsing
  // The part at work when the job came, and no other.
  expect(asked).toEqual(['0: part 0', '0: job'])

  const other = pool(1, 3)
  await other.made.run((api) => api.job())
  await other.made.rehearse((api, part) => api.rehearse(part))
  expect(other.asked).toEqual(['0: job'])
})
