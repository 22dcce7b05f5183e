/**
 * Differences to the first value of a column, exact where a double would not be: nanosecond stamps near 1.7e18 lie
 * 256 ns apart as doubles. Works on the decimal digits, so that nothing is rounded before the subtraction.
 */
export class ExactDifference {
  /** The first value as written; null until there was one. */
  origin: string | null = null
  /** Its digits without the decimal sign, and how many of them stand behind it. */
  digits = 0n
  decimals = 0

  /**
   * The difference of this plain decimal to the first one given, rounded once to the nearest double.
   * Undefined for anything but a plain decimal (an empty cell, an exponent, a word): the caller decides.
   */
  difference(bare: string, decimal: '.' | ','): number | undefined {
    const match = (decimal === '.' ? /^([+-]?)(\d+)(?:\.(\d*))?$/ : /^([+-]?)(\d+)(?:,(\d*))?$/).exec(bare)
    if (!match) return undefined
    const fraction = match[3] ?? ''
    let digits = BigInt(`${match[2] ?? ''}${fraction}`)
    if (match[1] === '-') digits = -digits
    if (this.origin === null) {
      this.origin = decimal === '.' ? bare : bare.replace(',', '.')
      this.digits = digits
      this.decimals = fraction.length
    }
    const places = Math.max(fraction.length, this.decimals)
    const scaled =
      digits * 10n ** BigInt(places - fraction.length) - this.digits * 10n ** BigInt(places - this.decimals)
    // Through text: Number() of a decimal string is correctly rounded, a division of two doubles need not be.
    return places === 0 ? Number(scaled) : Number(`${scaled}e-${places}`)
  }
}
