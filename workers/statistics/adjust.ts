/** Holm's step-down adjustment (Scand. J. Stat. 6, 1979 [from memory]): holds the chance of any false alarm. */
export function holm(p: readonly number[]): number[] {
  const order = p.map((_, k) => k).sort((i, j) => p[i]! - p[j]!)
  const adjusted = new Array<number>(p.length)
  let most = 0
  order.forEach((k, rank) => {
    most = Math.max(most, Math.min(1, (p.length - rank) * p[k]!))
    adjusted[k] = most
  })
  return adjusted
}

/** Benjamini and Hochberg's step-up adjustment (J. R. Stat. Soc. B 57, 1995 [from memory]): holds the share of false ones. */
export function benjaminiHochberg(p: readonly number[]): number[] {
  const order = p.map((_, k) => k).sort((i, j) => p[j]! - p[i]!)
  const adjusted = new Array<number>(p.length)
  let least = 1
  order.forEach((k, rank) => {
    least = Math.min(least, (p.length / (p.length - rank)) * p[k]!)
    adjusted[k] = least
  })
  return adjusted
}
