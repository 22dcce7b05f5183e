/** A compiled kernel with the memory that it works in. */
export interface Kernel<Exports> {
  readonly memory: WebAssembly.Memory
  readonly exports: Exports
}

const PAGE = 65_536
/** Below this a kernel keeps its own constants. */
const FIRST_FREE = 4096

/** A kernel out of its bytes in base 64; null where this engine has no SIMD, or is not allowed to compile. */
export function loadKernel<Exports>(bytes: string): Kernel<Exports> | null {
  if (typeof WebAssembly === 'undefined') return null
  const binary = Uint8Array.from(atob(bytes), (character) => character.charCodeAt(0))
  if (!WebAssembly.validate(binary)) return null
  const memory = new WebAssembly.Memory({ initial: 16, maximum: 16_384 })
  try {
    const instance = new WebAssembly.Instance(new WebAssembly.Module(binary), { env: { memory } })
    return { memory, exports: instance.exports as Exports }
  } catch (error) {
    // A page whose policy forbids compiling, or a main thread that may not: not an error, only slower.
    if (error instanceof WebAssembly.CompileError || error instanceof RangeError) return null
    throw error
  }
}

const aligned = (address: number): number => Math.ceil(address / 64) * 64

/** Lays stretches of bytes one after the other and makes the memory long enough for them. */
export function layOut<Name extends string>(
  memory: WebAssembly.Memory,
  bytes: Record<Name, number>,
): Record<Name, number> {
  let at = FIRST_FREE
  const places = {} as Record<Name, number>
  for (const [name, size] of Object.entries(bytes) as [Name, number][]) {
    places[name] = at
    at = aligned(at + size)
  }
  const missing = at - memory.buffer.byteLength
  if (missing > 0) memory.grow(Math.ceil(missing / PAGE))
  return places
}
