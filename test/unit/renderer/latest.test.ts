import { expect, test } from 'vitest'
import { Latest } from '../../../renderer/work/latest.ts'

const tick = (ms = 15) => new Promise((resolve) => setTimeout(resolve, ms))

test('of a burst only the newest job runs', async () => {
  const latest = new Latest(5)
  const ran: number[] = []
  for (let job = 0; job < 20; job++) latest.ask(async () => void ran.push(job))
  await tick(40)
  expect(ran).toEqual([19])
})

test('while one runs, only the newest waits', async () => {
  const latest = new Latest(0)
  const ran: string[] = []
  let finish = () => {}
  latest.ask(() => new Promise<void>((resolve) => (finish = resolve)).then(() => void ran.push('first')))
  await tick()
  latest.ask(async () => void ran.push('second'))
  await tick()
  latest.ask(async () => void ran.push('third'))
  await tick()
  expect(ran).toEqual([])
  finish()
  await tick()
  expect(ran).toEqual(['first', 'third'])
})

test('what was dropped does not run', async () => {
  const latest = new Latest(5)
  let ran = false
  latest.ask(async () => void (ran = true))
  latest.drop()
  await tick(30)
  expect(ran).toBe(false)
})
