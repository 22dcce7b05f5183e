import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { request, type IncomingHttpHeaders, type OutgoingHttpHeaders } from 'node:http'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Bulk, Desk } from '../../../electron/desk/desk-types.ts'
import { startLoopback, type Loopback } from '../../../electron/loopback.ts'

export const PAGE = '<!doctype html><title>page</title>'
export const OUTSIDE = 'not for the window'

/** A folder with a small window in it, a secret beside it, and a sibling whose name starts like the window's. */
export function windowFolder(): { root: string; remove: () => void } {
  const folder = mkdtempSync(join(tmpdir(), 'twopack-host-'))
  const root = join(folder, 'window')
  mkdirSync(join(root, 'assets'), { recursive: true })
  mkdirSync(join(folder, 'window-other'))
  writeFileSync(join(root, 'index.html'), PAGE)
  writeFileSync(join(root, 'assets', 'main-a1b2c3.js'), 'export {}')
  writeFileSync(join(root, 'two words.txt'), 'two words')
  writeFileSync(join(folder, 'secret.txt'), OUTSIDE)
  writeFileSync(join(folder, 'window-other', 'secret.txt'), OUTSIDE)
  return { root, remove: () => rmSync(folder, { recursive: true }) }
}

/** A desk made of the given parts; a part that a test does not give fails it when called. */
export function deskOf(parts: Partial<Desk>): Desk {
  return {
    handle: () => Promise.reject(new Error('handle was not expected')),
    bulk: (): Promise<Bulk | null> => Promise.reject(new Error('bulk was not expected')),
    close: () => Promise.resolve(),
    ...parts,
  }
}

export interface Answer {
  readonly status: number
  readonly headers: IncomingHttpHeaders
  readonly body: Buffer
}

export interface Asking {
  readonly method?: string
  readonly path: string
  readonly headers?: OutgoingHttpHeaders
  readonly body?: string | Buffer
}

/** A request over a socket, sent exactly as given: unlike fetch, nothing is normalised or added but Host. */
export function ask(host: Loopback, { method = 'GET', path, headers = {}, body }: Asking): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const sent = request({ host: '127.0.0.1', port: portOf(host), method, path, headers, agent: false })
    sent.once('error', reject)
    sent.once('response', (response) => {
      const parts: Buffer[] = []
      response.on('data', (part: Buffer) => parts.push(part))
      response.once('error', reject)
      response.once('end', () =>
        resolve({ status: response.statusCode ?? 0, headers: response.headers, body: Buffer.concat(parts) }),
      )
    })
    sent.end(body)
  })
}

export function portOf(host: Loopback): number {
  return Number(new URL(host.origin).port)
}

/** What a browser's own window of this launch sends along: cookie, and proof of its origin. */
export async function enter(host: Loopback): Promise<Record<string, string>> {
  const first = new URL(host.address('again'))
  const answer = await ask(host, { path: first.pathname + first.search })
  const cookie = answer.headers['set-cookie']?.[0]?.split(';', 1)[0]
  if (!cookie) throw new Error(`no cookie was set: ${answer.status}`)
  return { cookie, origin: host.origin, 'sec-fetch-site': 'same-origin' }
}

export async function serve(
  desk: Partial<Desk>,
  windowRoot: string,
  lines: string[] = [],
): Promise<Loopback> {
  return startLoopback({ desk: deskOf(desk), windowRoot, log: (line) => lines.push(line) })
}
