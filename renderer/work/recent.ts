/** Values by key in bounded memory: the longest unused go first. */
export class Recent<T> {
  readonly #kept = new Map<string, { readonly value: T; readonly bytes: number }>()
  readonly #most_bytes: number
  #bytes = 0

  constructor(most_bytes: number) {
    this.#most_bytes = most_bytes
  }

  get(key: string): T | undefined {
    const found = this.#kept.get(key)
    if (!found) return undefined
    // A map keeps its keys in order: the newest used stands last.
    this.#kept.delete(key)
    this.#kept.set(key, found)
    return found.value
  }

  /** Keeps a value that takes about so many bytes; one larger than the whole room is not kept. */
  keep(key: string, value: T, bytes: number): void {
    const old = this.#kept.get(key)
    if (old) {
      this.#bytes -= old.bytes
      this.#kept.delete(key)
    }
    if (bytes > this.#most_bytes) return
    this.#kept.set(key, { value, bytes })
    this.#bytes += bytes
    for (const [oldest, one] of this.#kept) {
      if (this.#bytes <= this.#most_bytes) return
      this.#kept.delete(oldest)
      this.#bytes -= one.bytes
    }
  }
}
