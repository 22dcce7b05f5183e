import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from 'node:fs'
import { spawnSync } from 'node:child_process'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { findChromium, findCommand } from '../../../electron/browser/find.ts'
import { chromiumInstaller } from '../../../electron/browser/install.ts'
import { isStale } from '../../../electron/build.ts'
import { dataFolder } from '../../../electron/home.ts'
import { appWindowFlags } from '../../../electron/launch/app-window.ts'
import { hasDisplay } from '../../../electron/launch/display.ts'
import { findElectron } from '../../../electron/launch/electron-runtime.ts'
import { fetchRuntime } from '../../../electron/launch/fetch-runtime.ts'
import { HomeFault, lockHome } from '../../../electron/launch/home-lock.ts'
import { parseStart, UsageError } from '../../../electron/launch/options.ts'
import { openHash } from '../../../electron/host/routes.ts'
import { nodeVersionFault } from '../../../electron/node-version.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'twopack-launch-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

describe('the command line', () => {
  test('has defaults, and takes paths from where npm was called', () => {
    expect(parseStart([], '/from')).toEqual({
      window: 'auto',
      port: 0,
      home: null,
      files: [],
      demo: true,
      help: false,
    })
    expect(
      parseStart(
        ['--no-window', '--port', '8123', '--home', 'book', '--no-demo', 'a.csv', '/logs/b.csv'],
        '/from',
      ),
    ).toEqual({
      window: 'none',
      port: 8123,
      home: '/from/book',
      files: ['/from/a.csv', '/logs/b.csv'],
      demo: false,
      help: false,
    })
    expect(parseStart(['--browser'], '/').window).toBe('browser')
  })

  test.each([[['--what']], [['--port', 'x']], [['--port', '65536']], [['--port', '-1']], [['--port']]])(
    '%j is refused with a sentence',
    (args) => {
      expect(() => parseStart(args, '/')).toThrow(UsageError)
    },
  )

  test('in Electron, whose own options stand among ours, unknown ones are stepped over', () => {
    expect(
      parseStart(['--no-sandbox', '--home=/book', '-psn_0_1', 'a.csv'], '/from', 'ignore'),
    ).toMatchObject({
      home: '/book',
      files: ['/from/a.csv'],
    })
  })

  test('files reach the window by its address, whatever their names hold', () => {
    const files = ['/a b&c=d#e.csv', '/Flüge/ä.csv']
    expect(new URLSearchParams(openHash(files).slice(1)).getAll('open')).toEqual(files)
    expect(openHash([])).toBe('')
  })
})

test('the data folder is TWOPACK_HOME, else the platform’s own place', () => {
  const at = (platform: NodeJS.Platform, env: Record<string, string>) =>
    dataFolder({ env, platform, userHome: '/home/p' })
  expect(at('linux', { TWOPACK_HOME: '/book', XDG_DATA_HOME: '/data' })).toBe('/book')
  expect(at('linux', { XDG_DATA_HOME: '/data' })).toBe('/data/twopack')
  expect(at('linux', { XDG_DATA_HOME: 'relative' })).toBe('/home/p/.local/share/twopack')
  expect(at('linux', {})).toBe('/home/p/.local/share/twopack')
  expect(at('darwin', {})).toBe('/home/p/Library/Application Support/Twopack')
  expect(at('win32', { APPDATA: '/roaming' })).toBe('/roaming/Twopack')
})

test('an older Node is turned away with a sentence', () => {
  expect(nodeVersionFault('20.20.2')).toContain('Node 24')
  expect(nodeVersionFault('24.0.0')).toBeNull()
  expect(nodeVersionFault('100.0.0')).toBeNull()
})

describe('the data folder’s lock', () => {
  test('keeps a second program out until it is released', () => {
    const lock = lockHome(folder)
    expect(() => lockHome(folder)).toThrow(HomeFault)
    lock.release()
    lockHome(folder).release()
  })

  test('says so when the folder cannot be used', () => {
    writeFileSync(join(folder, 'file'), '')
    expect(() => lockHome(join(folder, 'file'))).toThrow(HomeFault)
    expect(() => lockHome(join(folder, 'file', 'deeper'))).toThrow(/data folder .*deeper can't be used/)
  })

  test('leaves nothing behind when the program is killed', () => {
    const module = join(import.meta.dirname, '../../../electron/launch/home-lock.ts')
    const script = `import { lockHome } from ${JSON.stringify(module)}; lockHome(${JSON.stringify(folder)});
      process.kill(process.pid, 'SIGKILL')`
    const { signal } = spawnSync(process.execPath, ['--input-type=module', '-e', script])
    expect(signal).toBe('SIGKILL')
    lockHome(folder).release()
  })
})

describe('finding a Chromium', () => {
  const program = (name: string, exit = 0) => {
    const path = join(folder, name)
    writeFileSync(path, `#!/bin/sh\nexit ${exit}\n`)
    chmodSync(path, 0o755)
    return path
  }
  const find = (env: Record<string, string>, others: string[] = []) =>
    findChromium(others, { env, platform: 'linux' })

  test('takes what the environment names, and complains when that is nothing', () => {
    const named = program('mine')
    program('chromium')
    expect(find({ TWOPACK_CHROMIUM: named, PATH: folder })).toBe(named)
    expect(find({ CHROMIUM_PATH: named, PATH: folder })).toBe(named)
    expect(() => find({ TWOPACK_CHROMIUM: join(folder, 'gone'), PATH: folder })).toThrow(
      /TWOPACK_CHROMIUM.*gone/,
    )
  })

  test('takes the first on the PATH that starts; one that only says how to install it does not', () => {
    program('chromium-browser', 1)
    const chrome = program('google-chrome')
    writeFileSync(join(folder, 'chromium'), 'not executable')
    expect(find({ PATH: `/nowhere:${folder}` })).toBe(chrome)
  })

  test('falls back to the other places, or says there is none', () => {
    const own = program('own')
    expect(find({ PATH: '' }, [join(folder, 'gone'), own])).toBe(own)
    expect(find({ PATH: '' })).toBeNull()
  })

  test('finds one command alone where that is asked for', () => {
    const machine = { env: { PATH: `/nowhere:${folder}` }, platform: 'linux' as const }
    program('chromium')
    expect(findCommand('windowless', machine)).toBeNull()
    const windowless = program('windowless')
    expect(findCommand('windowless', machine)).toBe(windowless)
  })

  test('is followed by installing one: the system’s as root, the test tool’s own elsewhere', () => {
    expect(chromiumInstaller(true, true).args.join(' ')).toContain('apt-get')
    expect(chromiumInstaller(false, true).args).toEqual(['playwright', 'install', 'chromium'])
    expect(chromiumInstaller(true, false).args).toEqual(['playwright', 'install', 'chromium'])
  })
})

test('a display is an X or Wayland one on Linux, and always there elsewhere', () => {
  expect(hasDisplay({ env: {}, platform: 'linux' })).toBe(false)
  expect(hasDisplay({ env: { DISPLAY: ':0' }, platform: 'linux' })).toBe(true)
  expect(hasDisplay({ env: { WAYLAND_DISPLAY: 'wayland-0' }, platform: 'linux' })).toBe(true)
  expect(hasDisplay({ env: {}, platform: 'win32' })).toBe(true)
})

test('the app window has a profile of its own; the browser’s sandbox is off for root only', () => {
  const user = appWindowFlags('http://127.0.0.1:1/?token=x', '/book/browser-1', {}, false)
  expect(user).toContain('--app=http://127.0.0.1:1/?token=x')
  expect(user).toContain('--user-data-dir=/book/browser-1')
  expect(user).toContain('--disable-background-networking')
  expect(user).not.toContain('--no-sandbox')
  expect(appWindowFlags('', '', {}, true)).toContain('--no-sandbox')
  expect(appWindowFlags('', '', { TWOPACK_CHROMIUM_FLAGS: ' --a  --b=1 ' }, false).slice(-2)).toEqual([
    '--a',
    '--b=1',
  ])
})

describe('Electron’s runtime', () => {
  const installedAt = (dist: string) => {
    mkdirSync(dist, { recursive: true })
    writeFileSync(join(dist, 'electron'), '')
  }

  test('is found by its files only', () => {
    expect(findElectron(folder, {}, 'linux')).toBeNull()
    writeFileSync(join(folder, 'path.txt'), 'electron')
    expect(findElectron(folder, {}, 'linux')).toBeNull()
    installedAt(join(folder, 'dist'))
    expect(findElectron(folder, {}, 'linux')).toBe(join(folder, 'dist', 'electron'))
  })

  test('may lie elsewhere', () => {
    const elsewhere = join(folder, 'elsewhere')
    expect(findElectron(folder, { ELECTRON_OVERRIDE_DIST_PATH: elsewhere }, 'linux')).toBeNull()
    installedAt(elsewhere)
    expect(findElectron(folder, { ELECTRON_OVERRIDE_DIST_PATH: elsewhere }, 'linux')).toBe(
      join(elsewhere, 'electron'),
    )
  })
})

describe('fetching the runtime', () => {
  const lines: string[] = []
  const fetchWith = (
    installer: string,
    more: { quiet_ms?: number; now_ms?: number; version?: string } = {},
  ) => {
    lines.length = 0
    writeFileSync(join(folder, 'install.js'), installer)
    writeFileSync(join(folder, 'package.json'), '{}')
    const home = join(folder, 'home')
    return fetchRuntime({
      folder,
      version: '1.0.0',
      home,
      say: (line) => lines.push(line),
      quiet_ms: 8000, // Node itself takes its time to start on a busy machine
      ...more,
    })
  }
  const leftovers = () =>
    readdirSync(join(folder, 'home')).filter((name) => name.startsWith('runtime-fetch-'))
  const WRITE = `const fs = require('fs'), path = require('path'), os = require('os')
    const grow = () => fs.appendFileSync(path.join(os.tmpdir(), 'part'), 'x'.repeat(1000))`

  test('runs as long as bytes come, says so, and tidies up', async () => {
    const result = await fetchWith(
      `${WRITE}
      let left = 12
      const timer = setInterval(() => {
        grow()
        if (--left > 0) return
        clearInterval(timer)
        fs.mkdirSync(path.join(__dirname, 'dist'))
        fs.writeFileSync(path.join(__dirname, 'dist', 'electron'), '')
        fs.writeFileSync(path.join(__dirname, 'path.txt'), 'electron')
      }, 300)`,
      { quiet_ms: 2500 },
    )
    expect(result).toBe('fetched')
    expect(findElectron(folder, {}, 'linux')).not.toBeNull()
    expect(lines[0]).toMatch(/^Fetching the Electron runtime 1\.0\.0/)
    expect(leftovers()).toEqual([])
  })

  test('gives up soon when nothing comes, and leaves nothing that passes for a runtime', async () => {
    const began = performance.now()
    const result = await fetchWith(
      `${WRITE}
      grow()
      fs.mkdirSync(path.join(__dirname, 'dist'))
      fs.writeFileSync(path.join(__dirname, 'dist', 'electron'), 'half')
      setInterval(() => {}, 1000)`,
      { quiet_ms: 1500 },
    )
    expect(result).toBe('failed')
    expect(performance.now() - began).toBeLessThan(10_000)
    expect(leftovers()).toEqual([])
    expect(existsSync(join(folder, 'dist'))).toBe(false)
  })

  test('that failed is not tried again for a day, nor is another version held back by it', async () => {
    const failing = 'process.exit(1)'
    const now_ms = Date.UTC(2030, 0, 1)
    expect(await fetchWith(failing, { now_ms })).toBe('failed')
    expect(await fetchWith('', { now_ms: now_ms + 23 * 3_600_000 })).toBe('failed-before')
    expect(lines).toEqual([])
    expect(await fetchWith(failing, { now_ms: now_ms + 25 * 3_600_000 })).toBe('failed')
    expect(await fetchWith('', { now_ms: now_ms + 26 * 3_600_000, version: '1.0.1' })).toBe('fetched')
  })
})

describe('the window is built', () => {
  const bundle = { name: 'it', config: 'c', out: 'out/it', sources: ['src', 'lock.json'] }
  const at = (path: string, seconds: number) => utimesSync(join(folder, path), seconds, seconds)

  beforeEach(() => {
    for (const path of ['src/deep', 'out/it']) mkdirSync(join(folder, path), { recursive: true })
    for (const path of ['src/deep/a.ts', 'lock.json', 'out/it.built']) writeFileSync(join(folder, path), '')
    for (const path of ['src/deep/a.ts', 'src/deep', 'src', 'lock.json']) at(path, 1000)
    at('out/it.built', 2000)
  })

  test('once for the same sources', () => expect(isStale(bundle, folder)).toBe(false))

  test('again when a source is newer, or was removed', () => {
    at('src/deep/a.ts', 3000)
    expect(isStale(bundle, folder)).toBe(true)
    at('src/deep/a.ts', 1000)
    rmSync(join(folder, 'src/deep/a.ts'))
    expect(isStale(bundle, folder)).toBe(true)
  })

  test('when it or its stamp is missing', () => {
    rmSync(join(folder, 'out/it'), { recursive: true })
    expect(isStale(bundle, folder)).toBe(true)
    mkdirSync(join(folder, 'out/it'))
    rmSync(join(folder, 'out/it.built'))
    expect(isStale(bundle, folder)).toBe(true)
  })
})
