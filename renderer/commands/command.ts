/** What a menu entry, the palette and a shortcut all start. */
export interface Command {
  /** Stable name, `place.verb`, under which a shortcut of the pilot's own is kept. */
  readonly id: string
  /** What it does, as a short phrase that starts with a verb. A getter may make it follow what is there. */
  readonly name: string
  /** Heading under which lists show it. */
  readonly group: string
  /** Shortcuts from the start, as `keyOf` writes them: `Z`, `Ctrl+Z`, `Shift+ArrowLeft`. */
  readonly keys: readonly string[]
  /** False while it would do nothing. */
  readonly enabled?: () => boolean
  /** What is missing while it is not enabled, as a sentence. Lists leave a disabled command without one out. */
  readonly needs?: string
  /** For what is on or off: which of the two it is. */
  readonly on?: () => boolean
  /** True when its keys count while a field has the focus, too. */
  readonly inFields?: boolean
  readonly run: () => void
}

/** The keys that make a press a combination, in the order in which they are written. */
const MODIFIERS = ['Ctrl', 'Alt', 'Shift'] as const

/** A key press, without the rest of the browser's event. */
export interface KeyPress {
  readonly key: string
  readonly ctrlKey: boolean
  readonly metaKey: boolean
  readonly altKey: boolean
  readonly shiftKey: boolean
}

/**
 * How a key press is written: `Ctrl+Shift+Z`. Letters are written large; a sign that needs Shift on some keyboards
 * (`+`, `?`) is written by itself, without Shift. Meta counts as Ctrl, as on machines whose main modifier it is.
 * Null for a modifier pressed alone.
 */
export function keyOf(press: KeyPress): string | null {
  if (['Control', 'Meta', 'Alt', 'Shift', 'AltGraph', 'Dead'].includes(press.key)) return null
  const isSign = press.key.length === 1 && press.key.toLowerCase() === press.key.toUpperCase()
  const held = {
    Ctrl: press.ctrlKey || press.metaKey,
    Alt: press.altKey,
    Shift: press.shiftKey && !(isSign && press.key !== ' '),
  }
  const key = press.key === ' ' ? 'Space' : press.key.length === 1 ? press.key.toUpperCase() : press.key
  return [...MODIFIERS.filter((name) => held[name]), key].join('+')
}

const KEY = /^(Ctrl\+)?(Alt\+)?(Shift\+)?([^\s+a-z]|\+|[A-Z][A-Za-z0-9]+)$/

/** Whether a text is a key as `keyOf` writes it. */
export const isKey = (text: string): boolean => KEY.test(text)

/** Keys that work buttons, fields and dialogs themselves. */
const OF_CONTROLS = ['Tab', 'Shift+Tab', 'Enter', 'Space', 'Escape']
/** Keys that the window's frame or the clipboard answers to, before or beside any command. */
const OF_THE_WINDOW = [
  ...['W', 'T', 'N', 'Q', 'A', 'C', 'V', 'X'].map((key) => `Ctrl+${key}`),
  ...['W', 'T', 'N'].map((key) => `Ctrl+Shift+${key}`),
  'Alt+F4',
  'F11',
  'F12',
]

/** Why a key can't be made a shortcut, as a sentence; null when it can. */
export function whyNotKey(key: string): string | null {
  if (OF_CONTROLS.includes(key)) return `${key} works buttons and fields; please choose another.`
  if (OF_THE_WINDOW.includes(key))
    return `${key} belongs to the window itself or the clipboard; please choose another.`
  return null
}

const KEY_WORDS: Readonly<Record<string, string>> = {
  ArrowLeft: '\u2190',
  ArrowRight: '\u2192',
  ArrowUp: '\u2191',
  ArrowDown: '\u2193',
  PageUp: 'Page up',
  PageDown: 'Page down',
}

/** A key as people read it: `Shift+ArrowLeft` with an arrow for its name. */
export const keyInWords = (key: string): string =>
  key.replace(/[A-Z][A-Za-z]+$/, (name) => KEY_WORDS[name] ?? name)

/** A key as `aria-keyshortcuts` has it: Control written out. */
export const keyForReaders = (key: string): string => key.replace('Ctrl+', 'Control+')
