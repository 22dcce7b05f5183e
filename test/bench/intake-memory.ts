import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { build } from 'vite'

const INTAKE = join(import.meta.dirname, '../../electron/intake')

/**
 * Resident memory of a fresh process that reads a log and does nothing else, in MB: once it is up, at its peak, and how
 * much of that is the runtime's own program file, which every process that runs it shares (Linux; NaN elsewhere).
 * The reading is built first, as it ships: translating sources in the process would take memory of its own.
 * (On Linux by VmHWM: maxRSS remembers the process that started this one.)
 */
export async function measuredReading(path: string): Promise<{
  idle_mb: number
  peak_mb: number
  file_mb: number
}> {
  const folder = mkdtempSync(join(tmpdir(), 'twopack-bench-built-'))
  try {
    await build({
      configFile: false,
      logLevel: 'error',
      build: {
        ssr: true,
        outDir: folder,
        target: 'node24',
        minify: false,
        rolldownOptions: {
          input: { intake: join(INTAKE, 'intake.ts'), 'intake.worker': join(INTAKE, 'intake.worker.ts') },
          output: { entryFileNames: '[name].js' },
        },
      },
      ssr: { noExternal: true },
    })
    writeFileSync(join(folder, 'package.json'), '{"type":"module"}')
    const script = `const { readLog } = await import(${JSON.stringify(join(folder, 'intake.js'))});
      const idle = process.memoryUsage.rss() / 1e6;
      await readLog(${JSON.stringify(path)}, { columnFile: ${JSON.stringify(join(folder, 'columns'))} });
      const { readFileSync } = await import('node:fs');
      const status = process.platform === 'linux' ? readFileSync('/proc/self/status', 'utf8') : '';
      const peak_kb = /VmHWM:\\s*(\\d+)/.exec(status)?.[1] ?? process.resourceUsage().maxRSS;
      const file_kb = /RssFile:\\s*(\\d+)/.exec(status)?.[1];
      console.log(JSON.stringify([idle, Number(peak_kb) * 1024 / 1e6, file_kb * 1024 / 1e6]))`
    const answer = execFileSync(process.execPath, ['--input-type=module', '-e', script], { encoding: 'utf8' })
    const [idle_mb, peak_mb, file_mb] = JSON.parse(answer) as [number, number, number | null]
    return { idle_mb, peak_mb, file_mb: file_mb ?? NaN }
  } finally {
    rmSync(folder, { recursive: true })
  }
}
