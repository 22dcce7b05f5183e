import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { join, resolve } from 'node:path'
import { createInterface } from 'node:readline'
import { WINDOW } from '../../electron/build.ts'

/** The program without its window, with a data folder of its own, on a free port. */
export async function startProgram(
  home: string,
  files: readonly string[] = [],
): Promise<{ readonly url: string; readonly pid: number; stop(): Promise<void> }> {
  const serve = join(import.meta.dirname, '../e2e/support/serve.ts')
  const window = resolve(import.meta.dirname, '../..', WINDOW.out)
  const child = spawn(process.execPath, ['--no-memory-protection-keys', serve, home, window, ...files], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  for await (const line of createInterface(child.stdout)) {
    if (!line.startsWith('http://')) continue
    return {
      url: line,
      pid: child.pid as number,
      async stop() {
        child.kill('SIGTERM')
        await once(child, 'exit')
      },
    }
  }
  throw new Error('the program did not start')
}
