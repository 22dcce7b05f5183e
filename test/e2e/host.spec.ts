import { expect as expectPlain, test as plain } from '@playwright/test'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { startLoopback, type Loopback } from '../../electron/loopback.ts'
import { expect, test } from './support/program.ts'

test.describe('the program’s window', () => {
  test('is isolated and comes by a clean address with the security headers', async ({ page, url }) => {
    await expect(page).toHaveURL(`${new URL(url).origin}/`)
    expect(await page.evaluate(() => crossOriginIsolated)).toBe(true)
    expect(await page.evaluate(() => document.cookie)).toBe('')
    const headers = (await page.reload())?.headers()
    expect(headers).toMatchObject({
      'cross-origin-opener-policy': 'same-origin',
      'cross-origin-embedder-policy': 'require-corp',
      'content-security-policy': expect.stringContaining("default-src 'none'"),
    })
  })

  test('draws its page within its own policy', async ({ page }) => {
    await expect(page.locator('#app > *').first()).toBeVisible()
    // The fixture fails this test by any error or breach of the policy.
  })

  test('asks for nothing outside its own origin', async ({ page, url }) => {
    const outside: string[] = []
    page.on('request', (request) => {
      const asked = new URL(request.url())
      if (asked.origin !== new URL(url).origin && asked.protocol.startsWith('http'))
        outside.push(request.url())
    })
    await page.reload({ waitUntil: 'load' })
    await expect(page.locator('#app > *').first()).toBeVisible()
    expect(outside).toEqual([])
  })

  test('reaches the desk, and nobody without its cookie does', async ({ page, url, playwright }) => {
    const status = await page.evaluate(async () => {
      const reply = await fetch('/desk/call/logbook.list', { method: 'POST', body: '{}' })
      return { status: reply.status, reply: (await reply.json()) as unknown }
    })
    expect(status).toMatchObject({ status: 200, reply: { ok: true } })
    const { origin } = new URL(url)
    const stranger = await playwright.request.newContext({ extraHTTPHeaders: { origin } })
    expect((await stranger.post(`${origin}/desk/call/logbook.list`, { data: {} })).status()).toBe(403)
    await stranger.dispose()
  })
})

plain.describe('the policy in a real Chromium', () => {
  let host: Loopback
  let folder: string

  plain.beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'twopack-policy-'))
    writeFileSync(
      join(folder, 'index.html'),
      `<!doctype html><title>start</title><script>document.title = 'inline ran'</script>
       <script type="module" src="/main.js"></script><p onclick="document.title = 'handler ran'">press</p>`,
    )
    writeFileSync(
      join(folder, 'main.js'),
      `const worker = new Worker('/worker.js', { type: 'module' })
       worker.onmessage = (message) => (document.body.dataset.worker = message.data)
       document.body.dataset.script = 'ran'`,
    )
    writeFileSync(join(folder, 'worker.js'), `postMessage(crossOriginIsolated ? 'isolated' : 'not isolated')`)
    host = await startLoopback({
      windowRoot: folder,
      desk: {
        handle: async (request) => new Response(await request.text()),
        bulk: async () => ({
          status: 200,
          parts: [new Float32Array([1.5]) as unknown as Uint8Array],
          byteLength: 4,
        }),
        close: async () => undefined,
      },
    })
  })
  plain.afterAll(async () => {
    await host.close()
    rmSync(folder, { recursive: true })
  })

  plain(
    'runs our scripts and workers, isolated; runs no inline script, no handler and no eval',
    async ({ page }) => {
      await page.goto(host.address('once'))
      await expectPlain(page.locator('body')).toHaveAttribute('data-script', 'ran')
      await expectPlain(page.locator('body')).toHaveAttribute('data-worker', 'isolated')
      await page.getByText('press').click()
      expectPlain(await page.title()).toBe('start')
      const outcome = await page.evaluate(async () => {
        const attempt = (work: () => unknown) => {
          try {
            work()
            return 'allowed'
          } catch (error) {
            return (error as Error).name
          }
        }
        return {
          // WebAssembly 1.0: the shortest module is its magic number and version.
          wasm: attempt(() => new WebAssembly.Module(new Uint8Array([0, 0x61, 0x73, 0x6d, 1, 0, 0, 0]))),
          outside: await fetch('http://127.0.0.1:9/').then(
            () => 'allowed',
            () => 'refused',
          ),
        }
      })
      expectPlain(outcome).toEqual({ wasm: 'allowed', outside: 'refused' })
    },
  )

  plain(
    'keeps another page, even of another port of this machine, from desk and columns',
    async ({ page }) => {
      await page.goto(host.address('once')) // so that the browser holds the cookie
      const other = createServer((_request, response) => {
        response.writeHead(200, { 'content-type': 'text/html' }).end('<!doctype html><title>other</title>')
      })
      await new Promise<void>((resolve) => other.listen(0, '127.0.0.1', resolve))
      try {
        await page.goto(`http://127.0.0.1:${(other.address() as AddressInfo).port}/`)
        const refusals: string[] = []
        page.on('response', (response) => refusals.push(String(response.status())))
        const outcome = await page.evaluate(
          async (origin) =>
            Promise.all(
              [
                fetch(`${origin}/desk/call/x`, { method: 'POST', body: '{}', credentials: 'include' }),
                fetch(`${origin}/desk/call/x`, {
                  method: 'POST',
                  body: '{}',
                  credentials: 'include',
                  mode: 'no-cors',
                }),
                fetch(`${origin}/bulk/x`, { credentials: 'include' }),
              ].map((asked) =>
                asked.then(
                  (response) => (response.type === 'opaque' ? 'opaque' : 'read'),
                  () => 'refused',
                ),
              ),
            ),
          host.origin,
        )
        expectPlain(outcome).not.toContain('read')
        expectPlain(refusals.every((status) => status === '403')).toBe(true)
      } finally {
        other.closeAllConnections()
        other.close()
      }
    },
  )
})
