import type { Setting } from './sheet.ts'

/** Deeper than any sheet of settings; what is deeper is some other text. */
const MOST_DEPTH = 64

/** Keeps a number as it was written: 1.50 does not become 1.5. */
class Written {
  readonly source: string
  constructor(source: string) {
    this.source = source
  }
}

type Reviver = (this: unknown, key: string, value: unknown, context?: { readonly source?: string }) => unknown

/**
 * The settings of a JSON object or array, nested names joined by dots; null when the text is no such thing. A list of plain
 * values is one setting; a list of objects that have a name and a value each is read as those.
 */
export function readJsonSheet(text: string): Setting[] | null {
  const trimmed = text.trim()
  if (!/^[[{]/.test(trimmed) || !/[\]}]$/.test(trimmed) || depthOf(trimmed) > MOST_DEPTH) return null
  const keepNumbers: Reviver = (_key, value, context) =>
    typeof value === 'number' ? new Written(context?.source ?? String(value)) : value
  let value: unknown
  try {
    value = JSON.parse(trimmed, keepNumbers)
  } catch (error) {
    if (error instanceof SyntaxError) return null
    throw error
  }
  const settings: Setting[] = []
  collect('', value, settings)
  return settings
}

/** How deep brackets are nested, strings passed over. */
function depthOf(text: string): number {
  let depth = 0
  let most = 0
  for (const [sign] of text.matchAll(/"(?:[^"\\]|\\.)*"|[[{\]}]/g)) {
    if (sign === '{' || sign === '[') most = Math.max(most, ++depth)
    else if (sign === '}' || sign === ']') depth--
  }
  return most
}

function collect(name: string, value: unknown, into: Setting[]): void {
  const below = (key: string) => (name === '' ? key : `${name}.${key}`)
  if (Array.isArray(value)) {
    if (name !== '' && value.every(isPlain)) into.push({ name, value: value.map(wordOf).join(', '), line: 0 })
    else value.forEach((one, index) => collectItem(below, one, index, into))
  } else if (isPlain(value)) {
    if (name !== '') into.push({ name, value: wordOf(value), line: 0 })
  } else for (const [key, inner] of Object.entries(value as object)) collect(below(key), inner, into)
}

/** `{"name": "roll P", "value": 4}` is a setting of that name. */
function collectItem(below: (key: string) => string, item: unknown, index: number, into: Setting[]): void {
  if (!isPlain(item) && !Array.isArray(item)) {
    const entries = Object.entries(item as object)
    const name = entries.find(([key]) => /^(?:name|key|setting|parameter|id)$/i.test(key))?.[1] as unknown
    const value = entries.find(([key]) => /^(?:value|val)$/i.test(key))?.[1] as unknown
    if (typeof name === 'string' && value !== undefined) return collect(below(name), value, into)
  }
  collect(below(String(index)), item, into)
}

const isPlain = (value: unknown) => value === null || typeof value !== 'object' || value instanceof Written

function wordOf(value: unknown): string {
  if (value instanceof Written) return value.source
  return value === null ? '' : String(value)
}
