/** Writes numbers of fixed decimals as ASCII into one growing buffer: far quicker than joining strings. */
export class TextWriter {
  private bytes: Uint8Array
  private length = 0

  /** `expected`: bytes to make room for at first. */
  constructor(expected: number) {
    this.bytes = new Uint8Array(Math.max(1024, expected))
  }

  /** Text of characters below 128 goes byte by byte; anything else as UTF-8. */
  text(value: string): void {
    const encoded = new TextEncoder().encode(value)
    this.room(encoded.length)
    this.bytes.set(encoded, this.length)
    this.length += encoded.length
  }

  byte(code: number): void {
    this.room(1)
    this.bytes[this.length++] = code
  }

  /**
   * A number rounded to `decimals` (0..9) with `point` as the decimal mark's character code. Halves round away
   * from zero; minus zero is written as 0. NaN writes nothing: an empty cell.
   */
  number(value: number, decimals: number, point: number): void {
    if (Number.isNaN(value)) return
    this.room(32)
    const scale = POWERS[decimals]!
    let scaled = Math.floor(Math.abs(value) * scale + 0.5)
    if (scaled >= 1e15) throw new Error(`number too large to write: ${value}`)
    if (value < 0 && scaled > 0) this.bytes[this.length++] = MINUS
    let digits = 1
    let power = 10
    while (power <= scaled) {
      digits++
      power *= 10
    }
    if (digits <= decimals) digits = decimals + 1
    const whole = digits - decimals
    const total = digits + (decimals > 0 ? 1 : 0)
    let at = this.length + total - 1
    for (let written = 0; written < digits; written++) {
      if (decimals > 0 && at === this.length + whole) this.bytes[at--] = point
      const rest = Math.floor(scaled / 10)
      this.bytes[at--] = ZERO + (scaled - rest * 10)
      scaled = rest
    }
    this.length += total
  }

  /** What was written, without copying. */
  done(): Uint8Array {
    return this.bytes.subarray(0, this.length)
  }

  private room(more: number): void {
    if (this.length + more <= this.bytes.length) return
    const larger = new Uint8Array(Math.max(this.bytes.length * 2, this.length + more))
    larger.set(this.bytes.subarray(0, this.length))
    this.bytes = larger
  }
}

const MINUS = 45
const ZERO = 48
const POWERS = [1, 10, 100, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9]
