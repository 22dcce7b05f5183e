import './node-version.ts'
import { mkdirSync, readdirSync, renameSync, rmSync, statSync, utimesSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'

/** One thing that is built: what it is made of, by which configuration, and where it goes. */
export interface Bundle {
  readonly name: string
  readonly config: string
  readonly out: string
  readonly sources: readonly string[]
}

/** The window, which both hosts serve. */
export const WINDOW: Bundle = {
  name: 'the window',
  config: 'vite.config.ts',
  out: 'out/renderer',
  sources: [
    'renderer',
    'workers',
    'electron/desk/contract',
    'resources',
    'vite.config.ts',
    'package-lock.json',
  ],
}

/** The Electron main process. The loopback host needs no bundle: Node runs its sources. */
export const MAIN: Bundle = {
  name: 'the main process',
  config: 'vite.electron.config.ts',
  out: 'out/electron',
  sources: ['electron', 'workers', 'vite.electron.config.ts', 'package-lock.json'],
}

const PROJECT = resolve(import.meta.dirname, '..')

/** True when `bundle` was never built, or a source (or a folder, for one that was removed) is newer than it. */
export function isStale(bundle: Bundle, project = PROJECT): boolean {
  const built_ms = modified(stampOf(bundle, project))
  if (built_ms === null || modified(join(project, bundle.out)) === null) return true
  return bundle.sources.some((source) => newest(join(project, source)) > built_ms)
}

/** Builds each bundle that is stale, saying so by `say`. */
export async function ensureBuilt(bundles: readonly Bundle[], say: (line: string) => void): Promise<void> {
  for (const bundle of bundles.filter((bundle) => isStale(bundle))) {
    say(`Building ${bundle.name}...`)
    await buildBundle(bundle)
  }
}

/**
 * Builds beside the old output and swaps the two at the end: a failed build leaves the old one, and a host that
 * is serving it never meets a half-written folder.
 */
export async function buildBundle(bundle: Bundle): Promise<void> {
  const { build } = await import('vite')
  const began = new Date()
  const out = join(PROJECT, bundle.out)
  const fresh = `${out}.new-${process.pid}`
  const old = `${out}.old-${process.pid}`
  try {
    await build({
      configFile: join(PROJECT, bundle.config),
      logLevel: 'warn',
      build: { outDir: fresh, emptyOutDir: true },
    })
    mkdirSync(join(PROJECT, 'out'), { recursive: true })
    if (modified(out) !== null) renameSync(out, old)
    renameSync(fresh, out)
  } finally {
    rmSync(fresh, { recursive: true, force: true })
    rmSync(old, { recursive: true, force: true })
  }
  const stamp = stampOf(bundle, PROJECT)
  writeFileSync(stamp, '')
  // The time the build began: a source saved while it ran is newer than the result.
  utimesSync(stamp, began, began)
}

function stampOf(bundle: Bundle, project: string): string {
  return join(project, `${bundle.out}.built`)
}

function modified(path: string): number | null {
  return statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? null
}

function newest(path: string): number {
  const stat = statSync(path, { throwIfNoEntry: false })
  if (!stat) return 0
  let newest_ms = stat.mtimeMs
  if (stat.isDirectory())
    for (const name of readdirSync(path)) newest_ms = Math.max(newest_ms, newest(join(path, name)))
  return newest_ms
}

if (import.meta.main) {
  for (const bundle of [WINDOW, MAIN]) {
    console.log(`Building ${bundle.name}...`)
    await buildBundle(bundle)
  }
}
