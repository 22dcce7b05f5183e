import { test as base } from '@playwright/test'
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { cpSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'

export { expect } from '@playwright/test'

interface Settings {
  /**
   * True: the logbook begins with the demo flights, made before the run. 'fresh': they are made on this very start.
   * Set by `test.use({ demo: true })`.
   */
  demo: boolean | 'fresh'
  /** Log files given on the command line, as absolute paths. */
  openFiles: string[]
}

interface Program {
  /** A data folder of this test's own; gone afterwards. */
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
  program: Awaited<ReturnType<typeof startProgram>>
}

/**
 * `page` is the program's window, opened; behind it runs a desk of its own on a free port, with the data folder
 * `home`. Each test has its own; all ends with the test.
 */
export const test = base.extend<Settings & Program>({
  demo: [false, { option: true }],
  openFiles: [[], { option: true }],

  home: async ({ demo }, use) => {
    const home = mkdtempSync(join(tmpdir(), 'twopack-home-'))
    const made = process.env['TWOPACK_TEST_DEMO']
    if (demo === true && made) cpSync(made, home, { recursive: true })
    await use(home)
    rmSync(home, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 })
  },

  program: async ({ home, demo, openFiles }, use) => {
    const program = await startProgram(home, [...(demo === 'fresh' ? ['--demo'] : []), ...openFiles])
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
