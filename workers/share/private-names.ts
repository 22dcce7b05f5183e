import { tokensOf } from '../columns/tokens.ts'

/** What a column or setting may tell beside how a craft flew. */
export type PrivateKind = 'position' | 'serial number' | 'name' | 'path' | 'date'

/**
 * Words of names that tell where, when or by whom a log was made (common practice, no source). They are looked for in
 * names of columns and settings of any program, so they are the plain words of such things.
 */
const WORDS: Readonly<Record<PrivateKind, readonly string[]>> = {
  position: [
    ...[
      'lat',
      'latitude',
      'lon',
      'lng',
      'long',
      'longitude',
      'gps',
      'gnss',
      'position',
      'pos',
      'location',
      'home',
    ],
    ...[
      'coordinate',
      'coordinates',
      'coord',
      'coords',
      'altitude',
      'alt',
      'easting',
      'northing',
      'utm',
      'heading',
    ],
    ...['waypoint', 'geo', 'address', 'breite', 'laenge', 'satellites', 'sats'],
  ],
  'serial number': [
    'serial',
    'uuid',
    'uid',
    'guid',
    'mac',
    'imei',
    'registration',
    'licence',
    'license',
    'id',
    'ssid',
  ],
  name: [
    'name',
    'pilot',
    'owner',
    'operator',
    'user',
    'username',
    'callsign',
    'author',
    'email',
    'mail',
    'phone',
  ],
  path: ['path', 'file', 'filename', 'folder', 'directory', 'dir', 'host', 'hostname', 'url'],
  date: ['date', 'datetime', 'utc', 'epoch', 'day', 'month', 'year', 'timezone'],
}

const KINDS = Object.keys(WORDS) as PrivateKind[]

/** Values that are one of these whatever they are called: paths, hardware addresses, identifiers, mail addresses. */
const VALUES: readonly (readonly [PrivateKind, RegExp])[] = [
  ['path', /^(?:[A-Za-z]:\\|\\\\|~?\/[^/\s]+\/|file:)/],
  ['serial number', /^[0-9a-f]{2}(?:[:-][0-9a-f]{2}){5}$/i],
  ['serial number', /^[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12}$/i],
  ['serial number', /^(?:0x)?(?=[0-9a-f]*[a-f])(?=[0-9a-f]*\d)[0-9a-f]{16,}$/i],
  ['name', /^[^\s@]+@[^\s@]+\.[^\s@]+$/],
]

/**
 * What a column or setting of this name (and, where it is text, this value) may tell of place, device, person or day;
 * null when nothing shows. It errs on the side of silence: the pilot may still choose what was left out.
 */
export function privateKind(name: string, value = ''): PrivateKind | null {
  const words = new Set([...tokensOf(name).words, ...plainWords(name)])
  const named = KINDS.find((kind) => WORDS[kind].some((word) => words.has(word)))
  return named ?? VALUES.find(([, pattern]) => pattern.test(value.trim()))?.[0] ?? null
}

/** Words as they stand, since `tokensOf` takes words apart that it knows pieces of. */
function plainWords(name: string): string[] {
  return name
    .replaceAll(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
    .toLowerCase()
    .split(/[^\p{L}]+/u)
}
