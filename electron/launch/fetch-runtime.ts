import { spawn } from 'node:child_process'
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

export interface FetchOptions {
  /** Electron's package folder, with the installer that came with it. */
  readonly folder: string
  readonly version: string
  readonly home: string
  readonly say: (line: string) => void
  /** Give up after so long without a byte more; a firewall that only swallows would hold us for minutes. */
  readonly quiet_ms?: number
  readonly now_ms?: number
}

export type FetchResult = 'fetched' | 'failed' | 'failed-before'

const QUIET_MS = 4000
const LOOK_EVERY_MS = 250
const SAY_EVERY_BYTES = 20 * 1024 * 1024
/** After a failed attempt later starts don't try, so as not to be slow each time; a day on they do. */
const RETRY_AFTER_MS = 24 * 60 * 60 * 1000

/**
 * Fetches Electron's runtime by the package's own installer, which checks its checksum. Bounded by progress: it
 * goes on as long as bytes come. The installer's temporary files are kept in a folder of ours in order to see that.
 */
export async function fetchRuntime(options: FetchOptions): Promise<FetchResult> {
  const { folder, version, home, say } = options
  const now_ms = options.now_ms ?? Date.now()
  mkdirSync(home, { recursive: true })
  const note = join(home, 'runtime-fetch.json')
  if (failedLately(note, version, now_ms)) return 'failed-before'

  const temporary = mkdtempSync(join(home, 'runtime-fetch-'))
  say(`Fetching the Electron runtime ${version} (about 110 MB, once)...`)
  const ok = await runWatched(
    [join(folder, 'install.js')],
    { TMPDIR: temporary, TEMP: temporary, TMP: temporary },
    () => bytesIn(temporary) + bytesIn(join(folder, 'dist')),
    options.quiet_ms ?? QUIET_MS,
    say,
  )
  rmSync(temporary, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 })
  if (ok) {
    rmSync(note, { force: true })
    return 'fetched'
  }
  // A half-unpacked runtime must not pass for one.
  rmSync(join(folder, 'dist'), { recursive: true, force: true })
  writeFileSync(note, JSON.stringify({ version, failedAt_ms: now_ms }))
  return 'failed'
}

function failedLately(note: string, version: string, now_ms: number): boolean {
  if (!statSync(note, { throwIfNoEntry: false })) return false
  const text = readFileSync(note, 'utf8')
  const match = /"version":"([^"]*)","failedAt_ms":(\d+)/.exec(text)
  if (!match || match[1] !== version) return false
  const ago_ms = now_ms - Number(match[2])
  return ago_ms >= 0 && ago_ms < RETRY_AFTER_MS
}

async function runWatched(
  args: readonly string[],
  env: Readonly<Record<string, string>>,
  progress_bytes: () => number,
  quiet_ms: number,
  say: (line: string) => void,
): Promise<boolean> {
  const child = spawn(process.execPath, args, { stdio: 'ignore', env: { ...process.env, ...env } })
  let bytes = progress_bytes()
  let said = bytes
  let quietSince = performance.now()
  const watch = setInterval(() => {
    const now = progress_bytes()
    // Less than before is progress too: the download was moved away in order to be unpacked.
    if (now !== bytes) quietSince = performance.now()
    bytes = now
    if (bytes - said >= SAY_EVERY_BYTES) say(`  ${Math.round(bytes / 1024 / 1024)} MB`)
    if (bytes - said >= SAY_EVERY_BYTES) said = bytes
    if (performance.now() - quietSince > quiet_ms) child.kill('SIGKILL')
  }, LOOK_EVERY_MS)
  const stop = () => child.kill('SIGKILL')
  process.once('exit', stop)
  try {
    return await new Promise<boolean>((resolve) => {
      child.once('error', () => resolve(false))
      child.once('exit', (code) => resolve(code === 0))
    })
  } finally {
    clearInterval(watch)
    process.off('exit', stop)
  }
}

function bytesIn(path: string): number {
  const stat = statSync(path, { throwIfNoEntry: false })
  if (!stat) return 0
  if (!stat.isDirectory()) return stat.size
  return readdirSync(path).reduce((sum, name) => sum + bytesIn(join(path, name)), 0)
}
