/**
 * A key that is equal for files with the same column names in the same order, so that a choice made for one file
 * serves the next. Four 32-bit multiplicative hashes of the names (FNV-1a with different starts); not for security.
 */
export function headerKey(names: readonly string[]): string {
  const bytes = new TextEncoder().encode(names.map((name) => JSON.stringify(name)).join(','))
  return [0x811c9dc5, 0x01000193, 0x9e3779b9, 0x85ebca6b]
    .map((start) => {
      let hash = start
      for (const byte of bytes) hash = Math.imul(hash ^ byte, 0x01000193)
      // Spread the last bytes over all bits.
      hash ^= hash >>> 15
      hash = Math.imul(hash, 0x2c1b3c6d)
      return ((hash ^ (hash >>> 12)) >>> 0).toString(16).padStart(8, '0')
    })
    .join('')
}
