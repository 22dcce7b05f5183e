import { homedir } from 'node:os'
import { join, resolve } from 'node:path'

export interface Surroundings {
  readonly env: Readonly<Record<string, string | undefined>>
  readonly platform: NodeJS.Platform
  readonly userHome: string
}

/**
 * The folder that holds the logbook: TWOPACK_HOME where it is set, else the platform's own place for a program's
 * data. The path is absolute; nothing is made.
 */
export function dataFolder(
  { env, platform, userHome }: Surroundings = {
    env: process.env,
    platform: process.platform,
    userHome: homedir(),
  },
): string {
  if (env['TWOPACK_HOME']) return resolve(env['TWOPACK_HOME'])
  switch (platform) {
    case 'win32':
      return join(env['APPDATA'] ?? join(userHome, 'AppData', 'Roaming'), 'Twopack')
    case 'darwin':
      return join(userHome, 'Library', 'Application Support', 'Twopack')
    default: {
      const dataHome = env['XDG_DATA_HOME']
      // The XDG base directory specification: a relative path there is invalid and must be ignored.
      return join(dataHome?.startsWith('/') ? dataHome : join(userHome, '.local', 'share'), 'twopack')
    }
  }
}
