/**
 * Results of analyses as text and back, exact to the last bit: typed arrays as base64 of their bytes (little-endian, as all
 * machines that this runs on), numbers that JSON lacks by name. Only plain objects, arrays, strings, numbers, booleans,
 * null and typed arrays may occur.
 */
const KINDS = { f64: Float64Array, f32: Float32Array, i32: Int32Array, u8: Uint8Array } as const
type Kind = keyof typeof KINDS
type Typed = Float64Array | Float32Array | Int32Array | Uint8Array

/** The property that marks what JSON can't say; no result of ours has one of this name. */
const MARK = '\u0000'

/** @throws Error for a value of another kind: results must not hold it. */
export function resultText(value: unknown): string {
  return JSON.stringify(value, (_name, one: unknown) => {
    if (typeof one === 'number' && !Number.isFinite(one)) return { [MARK]: 'number', of: String(one) }
    if (Object.is(one, -0)) return { [MARK]: 'number', of: '-0' }
    if (one === null || typeof one !== 'object' || Array.isArray(one)) return one
    for (const [kind, Type] of Object.entries(KINDS))
      if (one instanceof Type) return { [MARK]: kind, of: base64Of(one) }
    if (one instanceof Map || one instanceof Set || ArrayBuffer.isView(one))
      throw new Error(`a result holds what can't be kept: ${Object.prototype.toString.call(one)}`)
    return one
  })
}

/** @throws SyntaxError or Error for text that is none of ours. */
export function resultFromText(text: string): unknown {
  return JSON.parse(text, (_name, one: unknown) => {
    if (one === null || typeof one !== 'object' || !(MARK in one)) return one
    const { [MARK]: kind, of } = one as { [MARK]: unknown; of?: unknown }
    if (typeof of !== 'string' || typeof kind !== 'string') throw new Error('a kept result is damaged')
    if (kind === 'number') return Number(of)
    if (!Object.hasOwn(KINDS, kind)) throw new Error('a kept result is damaged')
    return typedOf(kind as Kind, of)
  })
}

function base64Of(array: Typed): string {
  const bytes = new Uint8Array(array.buffer, array.byteOffset, array.byteLength)
  let text = ''
  // A call takes only so many arguments.
  for (let from = 0; from < bytes.length; from += 0x8000)
    text += String.fromCharCode(...bytes.subarray(from, from + 0x8000))
  return btoa(text)
}

function typedOf(kind: Kind, base64: string): Typed {
  const text = atob(base64)
  const bytes = Uint8Array.from(text, (character) => character.charCodeAt(0))
  const Type = KINDS[kind]
  if (bytes.length % Type.BYTES_PER_ELEMENT !== 0) throw new Error('a kept result is damaged')
  return new Type(bytes.buffer)
}
