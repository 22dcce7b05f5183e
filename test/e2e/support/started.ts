import { spawn, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { join, resolve } from 'node:path'
import { createInterface } from 'node:readline'

const PROJECT = resolve(import.meta.dirname, '../../..')

/** The program as the pilot starts it, with what it said so far. */
export interface Started {
  readonly process: ChildProcess
  readonly said: string[]
  /** Resolves to the exit code (null when a signal ended it). */
  readonly exit: Promise<number | null>
  /** Resolves to the first line that fits, said already or yet to come; rejects when the program ends without it. */
  line(fits: RegExp): Promise<string>
}

/** Starts the program by its own entry point, as `npm start -- ...args` does. */
export function startProgram(args: readonly string[], env: NodeJS.ProcessEnv = process.env): Started {
  const child = spawn(process.execPath, [join(PROJECT, 'electron/start.ts'), ...args], {
    stdio: ['ignore', 'pipe', 'pipe'],
    env,
  })
  const said: string[] = []
  const waiting = new Set<() => void>()
  for (const stream of [child.stdout, child.stderr]) {
    createInterface(stream).on('line', (line) => {
      said.push(line)
      for (const look of waiting) look()
    })
  }
  const exit = once(child, 'close').then(([code]) => code as number | null)
  return {
    process: child,
    said,
    exit,
    line: (fits) =>
      new Promise((found, missed) => {
        const look = () => {
          const line = said.find((line) => fits.test(line))
          if (line !== undefined) found(line)
        }
        waiting.add(look)
        look()
        void exit.then((code) =>
          missed(new Error(`ended with ${code} before saying ${fits}:\n${said.join('\n')}`)),
        )
      }),
  }
}

/** A display without a screen, for windows; null where there is no Xvfb. */
export async function startDisplay(): Promise<{ name: string; stop(): void } | null> {
  const child = spawn('Xvfb', ['-displayfd', '3', '-screen', '0', '1600x1000x24', '-nolisten', 'tcp'], {
    stdio: ['ignore', 'ignore', 'ignore', 'pipe'],
  })
  const absent = once(child, 'error').then(() => null)
  const number = (async () => {
    for await (const line of createInterface(child.stdio[3] as NodeJS.ReadableStream)) return line.trim()
    return null
  })()
  const told = await Promise.race([number, absent])
  return told === null ? null : { name: `:${told}`, stop: () => child.kill() }
}
