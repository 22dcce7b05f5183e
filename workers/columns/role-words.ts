import type { Role } from './roles.ts'

/** Kinds of roles whose names are not their words. */
export const KIND_WORDS: Readonly<Record<string, string>> = {
  unfiltered: 'unfiltered gyro',
  speed: 'speed of motor',
  pTerm: 'P-term',
  iTerm: 'I-term',
  dTerm: 'D-term',
  feedForward: 'feed-forward',
}

/** "gyro roll", "motor 3", "throttle", "D-term yaw". */
export function roleName(role: Role): string {
  const [kind = '', which = ''] = role.split('.')
  return `${KIND_WORDS[kind] ?? kind} ${which}`.trim()
}
