import { chromium, expect, test, type Browser } from '@playwright/test'
import { chmodSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { findChromium } from '../../electron/browser/find.ts'
import { lockHome } from '../../electron/launch/home-lock.ts'
import { startDisplay, startProgram, type Started } from './support/started.ts'

let home: string
let started: Started | null = null
test.beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), 'twopack-start-'))
})
test.afterEach(async () => {
  started?.process.kill('SIGTERM')
  await started?.exit
  started = null
  rmSync(home, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 })
})

/** Processes that were started with the data folder's path: the browser's, as long as they live. */
function processesOf(home: string, but: number | undefined): string[] {
  return readdirSync('/proc')
    .filter((name) => /^\d+$/.test(name) && Number(name) !== but && Number(name) !== process.pid)
    .filter((pid) => {
      const path = join('/proc', pid, 'cmdline')
      return existsSync(path) && readFileSync(path, 'utf8').includes(home)
    })
}

test.describe('without a window', () => {
  const begin = (...args: string[]) =>
    (started = startProgram(['--no-window', '--no-demo', '--home', home, ...args]))

  test('the address is printed and works until the program is asked to end, which it does with 0', async ({
    page,
  }) => {
    const program = begin('a log.csv')
    const address = await program.line(/^http:/)
    expect(new URLSearchParams(new URL(address).hash.slice(1)).getAll('open')).toEqual([
      join(process.env['INIT_CWD'] ?? process.cwd(), 'a log.csv'),
    ])
    for (let time = 0; time < 2; time++) {
      await page.goto(address)
      expect(await page.evaluate(() => crossOriginIsolated)).toBe(true)
    }
    program.process.kill('SIGINT')
    program.process.kill('SIGINT') // npm passes a terminal's Ctrl-C on a second time
    expect(await program.exit).toBe(0)
    await expect(fetch(new URL(address).origin)).rejects.toThrow()
    lockHome(home).release()
  })

  test('a second program with the same data folder is turned away, and the first goes on', async () => {
    const address = await begin().line(/^http:/)
    const second = startProgram(['--no-window', '--home', home])
    expect(await second.exit).toBe(2)
    expect(second.said.join('\n')).toContain(home)
    expect((await fetch(address, { redirect: 'manual' })).status).toBe(303)
  })

  test('a port that is taken is named in a sentence', async () => {
    const { port } = new URL(await begin().line(/^http:/))
    const other = mkdtempSync(join(tmpdir(), 'twopack-start-'))
    const second = startProgram(['--no-window', '--home', other, '--port', port])
    expect(await second.exit).toBe(2)
    expect(second.said.at(-1)).toContain(`Port ${port} is taken`)
    rmSync(other, { recursive: true })
  })
})

test.describe('in an app window', () => {
  let display: Awaited<ReturnType<typeof startDisplay>> = null
  test.beforeAll(async () => {
    display = await startDisplay()
  })
  test.afterAll(() => display?.stop())

  const begin = (env: NodeJS.ProcessEnv = {}) => {
    test.skip(display === null, 'there is no Xvfb on this machine')
    return (started = startProgram(['--browser', '--no-demo', '--home', home], {
      ...process.env,
      DISPLAY: display?.name,
      TWOPACK_CHROMIUM: findChromium([chromium.executablePath()]) ?? '',
      TWOPACK_CHROMIUM_FLAGS: '--remote-debugging-port=0',
      ...env,
    }))
  }

  /** Looks into the window by its debugging port, which only this test has opened. */
  async function look(program: Started): Promise<Browser> {
    const file = join(home, `browser-${program.process.pid}`, 'DevToolsActivePort')
    await expect.poll(() => existsSync(file) && readFileSync(file, 'utf8').includes('\n')).toBe(true)
    return chromium.connectOverCDP(`http://127.0.0.1:${readFileSync(file, 'utf8').split('\n', 1)[0]}`)
  }

  test('the program ends with 0 when the window is closed, and leaves nothing running or lying about', async () => {
    const program = begin()
    await program.line(/^The program is open/)
    const browser = await look(program)
    const page = browser.contexts()[0]!.pages()[0]!
    await page.waitForURL(/^http:\/\/127\.0\.0\.1:\d+\/$/) // the token is gone from the address
    expect(
      await page.evaluate(() => [crossOriginIsolated, matchMedia('(display-mode: standalone)').matches]),
    ).toEqual([true, true])
    expect(await page.evaluate(() => screen.height >= innerHeight && innerWidth >= 1280)).toBe(true)
    await page.close()
    expect(await program.exit).toBe(0)
    expect(readdirSync(home).filter((name) => name.startsWith('browser-'))).toEqual([])
    expect(processesOf(home, program.process.pid)).toEqual([])
  })

  test('the window goes too when the program is asked to end', async () => {
    const program = begin()
    await program.line(/^The program is open/)
    await (await look(program)).close() // only takes our look away, not the window
    expect(processesOf(home, program.process.pid).length).toBeGreaterThan(0)
    program.process.kill('SIGTERM')
    expect(await program.exit).toBe(0)
    expect(readdirSync(home).filter((name) => name.startsWith('browser-'))).toEqual([])
    expect(processesOf(home, program.process.pid)).toEqual([])
  })

  test('a browser that cannot open one leaves an address to open', async () => {
    const broken = join(home, 'browser')
    writeFileSync(broken, '#!/bin/sh\nexit 1\n')
    chmodSync(broken, 0o755)
    const program = begin({ TWOPACK_CHROMIUM: broken })
    const address = await program.line(/^http:/)
    expect((await fetch(address, { redirect: 'manual' })).status).toBe(303)
  })
})
