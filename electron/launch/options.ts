import { resolve } from 'node:path'
import { parseArgs } from 'node:util'

/** What the command line asks for. */
export interface StartOptions {
  /** 'auto': Electron, else a browser's app window, else an address. 'browser' skips Electron, 'none' opens nothing. */
  readonly window: 'auto' | 'browser' | 'none'
  /** 0 takes a free one. Only the loopback host has a port. */
  readonly port: number
  /** The data folder, absolute; null for the usual one. */
  readonly home: string | null
  /** Log files to be opened, absolute. */
  readonly files: readonly string[]
  /** False begins with an empty logbook instead of the invented demo flights. */
  readonly demo: boolean
  readonly help: boolean
}

export const USAGE = `Usage: npm start -- [options] [log files]

  --browser     open a browser's app window, also where Electron could be used
  --no-window   open nothing: print the address to be opened in a browser on this machine
  --port N      serve at this port of 127.0.0.1 (a free one is taken otherwise)
  --home DIR    keep the logbook in this folder (otherwise TWOPACK_HOME, or the user's data folder)
  --no-demo     begin with an empty logbook, without the invented demo flights
  --help        show this text`

/** A command line that can't be followed; the message is one plain sentence. */
export class UsageError extends Error {}

/**
 * Reads the command line; relative paths are taken from `folder`. Unknown options are refused, or ignored in
 * Electron, whose own are among them.
 * @throws UsageError for an unknown option or a value that does not fit.
 */
export function parseStart(
  args: readonly string[],
  folder: string,
  unknown: 'refuse' | 'ignore' = 'refuse',
): StartOptions {
  const known =
    unknown === 'refuse' ? args : args.filter((argument) => !/^--?[a-z]/i.test(argument) || isOurs(argument))
  const { values, positionals } = parsed(known)
  return {
    window: values['no-window'] ? 'none' : values.browser ? 'browser' : 'auto',
    port: portOf(values.port),
    home: values.home === undefined ? null : resolve(folder, values.home),
    files: positionals.map((path) => resolve(folder, path)),
    demo: !values['no-demo'],
    help: values.help ?? false,
  }
}

const OPTIONS = {
  browser: { type: 'boolean' },
  'no-window': { type: 'boolean' },
  port: { type: 'string' },
  home: { type: 'string' },
  'no-demo': { type: 'boolean' },
  help: { type: 'boolean' },
} as const

function isOurs(argument: string): boolean {
  return Object.hasOwn(OPTIONS, argument.replace(/^--/, '').split('=', 1)[0] ?? '')
}

function parsed(args: readonly string[]) {
  try {
    return parseArgs({ args: [...args], allowPositionals: true, options: OPTIONS })
  } catch (error) {
    throw new UsageError(error instanceof Error ? error.message : String(error), { cause: error })
  }
}

function portOf(text: string | undefined): number {
  if (text === undefined) return 0
  const port = Number(text)
  if (/^\d+$/.test(text) && port <= 65535) return port
  throw new UsageError(`--port needs a number from 0 to 65535: ${text}`)
}
