import { test as base } from '@playwright/test'
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { cpSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import Database from 'better-sqlite3'

export { expect } from '@playwright/test'

interface Settings {
  /**
   * True: the logbook begins with the demo flights, made before the run. 'fresh': they are made on this very start.
   * Set by `test.use({ demo: true })`.
   */
  demo: boolean | 'fresh'
  /** Log files given on the command line, as absolute paths. */
  openFiles: string[]
  /**
   * A name: tests with the same one are served by one program where they run one after the other. Each has a window of
   * its own, and what a window keeps (layout, choices, shortcuts) is forgotten before it; what lies in the library
   * stays, with the results kept there. Only for tests that leave flights, moments and changes as they found them.
   */
  shares: string
}

interface Program {
  /** A data folder of this test's own, unless it is shared; gone afterwards. */
  home: string
  /** The address that lets a window in, any number of times. */
  url: string
  /**
   * What went wrong in the page unasked: uncaught errors, console errors, breaches of the content policy.
   * A test that leaves any here fails; one that provokes a fault on purpose takes it out (`faults.length = 0`).
   */
  faults: string[]
  /** Ends the program at once, as when the machine loses its power; the window goes with it. */
  crash: () => Promise<void>
  /** What runs behind the window. */
  program: Running
}

type Running = Awaited<ReturnType<typeof startProgram>>

/** A program that tests share, with its data folder. */
interface Shared {
  readonly home: string
  readonly program: Running
}

/**
 * `page` is the program's window, opened; behind it runs a desk of its own on a free port, with the data folder
 * `home`. Each test has its own unless it `shares` one; all ends with the test or, shared, with its worker.
 */
export const test = base.extend<Settings & Program, { shared: Map<string, Promise<Shared>> }>({
  demo: [false, { option: true }],
  openFiles: [[], { option: true }],
  shares: ['', { option: true }],

  shared: [
    async ({}, use) => {
      const programs = new Map<string, Promise<Shared>>()
      await use(programs)
      for (const { home, program } of await Promise.all(programs.values())) {
        await program.stop()
        removeHome(home)
      }
    },
    { scope: 'worker' },
  ],

  home: async ({ demo, openFiles, shares, shared }, use) => {
    if (shares === '') {
      const home = makeHome(demo)
      await use(home)
      removeHome(home)
      return
    }
    if (!shared.has(shares)) shared.set(shares, startWithHome(demo, openFiles))
    const { home } = await shared.get(shares)!
    forgetWindow(home)
    await use(home)
  },

  program: async ({ home, demo, openFiles, shares, shared }, use) => {
    if (shares !== '') return use((await shared.get(shares)!).program)
    const program = await startProgram(home, argumentsFor(demo, openFiles))
    await use(program)
    await program.stop()
  },

  url: async ({ program }, use) => use(program.url),

  crash: async ({ program, page, faults }, use) => {
    await use(async () => {
      await program.crash()
      await page.close()
      // That the desk answered no more is what was wanted.
      faults.length = 0
    })
  },

  faults: async ({}, use) => {
    const faults: string[] = []
    await use(faults)
    if (faults.length > 0) throw new Error(`The window had faults:\n${faults.join('\n')}`)
  },

  page: async ({ page, url, faults }, use) => {
    page.on('pageerror', (error) => faults.push(error.stack ?? String(error)))
    page.on('console', (message) => {
      if (message.type() === 'error') faults.push(`${message.text()} (${message.location().url})`)
    })
    await page.goto(url)
    await use(page)
  },
})

function makeHome(demo: Settings['demo']): string {
  const home = mkdtempSync(join(tmpdir(), 'twopack-home-'))
  const made = process.env['TWOPACK_TEST_DEMO']
  if (demo === true && made) cpSync(made, home, { recursive: true })
  return home
}

const removeHome = (home: string) =>
  rmSync(home, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 })

const argumentsFor = (demo: Settings['demo'], openFiles: readonly string[]) => [
  ...(demo === 'fresh' ? ['--demo'] : []),
  ...openFiles,
]

/** Starts a program to share, with a data folder of its own. */
async function startWithHome(demo: Settings['demo'], openFiles: readonly string[]): Promise<Shared> {
  const home = makeHome(demo)
  return { home, program: await startProgram(home, argumentsFor(demo, openFiles)) }
}

/** Empties what the window keeps between runs, behind the running program's back: it reads that anew each time. */
function forgetWindow(home: string): void {
  const database = new Database(join(home, 'library.sqlite'), { timeout: 5000 })
  database.exec('DELETE FROM kept')
  database.close()
}

/** Starts the program without a window, on a free port; resolves when it can be opened. */
async function startProgram(home: string, args: readonly string[]) {
  const windowRoot = process.env['TWOPACK_TEST_WINDOW']
  if (!windowRoot) throw new Error('the window’s snapshot is missing: was the global set-up left out?')
  const child = spawn(
    process.execPath,
    ['--no-memory-protection-keys', join(import.meta.dirname, 'serve.ts'), home, windowRoot, ...args],
    {
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  )
  const exited = once(child, 'exit') as Promise<[number | null]>
  let said = ''
  child.stderr.on('data', (text: Buffer) => {
    said += text.toString()
    process.stderr.write(text)
  })
  const url = await Promise.race([
    (async () => {
      for await (const line of createInterface(child.stdout)) if (line.startsWith('http://')) return line
      return null
    })(),
    exited.then(() => null),
  ])
  if (!url) throw new Error(`the program did not start: ${said}`)
  let crashed = false
  return {
    url,
    async crash() {
      crashed = true
      child.kill('SIGKILL')
      await exited
    },
    async stop() {
      if (crashed) return
      child.kill('SIGTERM')
      const [code] = await exited
      if (code !== 0) throw new Error(`the program ended with ${code}: ${said}`)
    },
  }
}
