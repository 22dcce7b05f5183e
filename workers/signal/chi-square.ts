/**
 * The chi-square distribution for intervals of spectra. Regularised incomplete gamma function by series and
 * continued fraction; ln Gamma by Lanczos' approximation (g = 7, nine terms). Absolute error below 1e-12.
 */
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
]

/** ln Gamma(x) for x > 0. */
export function logGamma(x: number): number {
  if (!(x > 0)) throw new Error(`ln Gamma needs a positive argument: ${x}`)
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x)
  const z = x - 1
  let series = LANCZOS[0]!
  for (let k = 1; k < LANCZOS.length; k++) series += LANCZOS[k]! / (z + k)
  const base = z + 7.5
  return 0.5 * Math.log(2 * Math.PI) + (z + 0.5) * Math.log(base) - base + Math.log(series)
}

/** P(a, x), the regularised lower incomplete gamma function, a > 0. */
export function gammaP(a: number, x: number): number {
  if (x <= 0) return 0
  if (x === Infinity) return 1
  const front = Math.exp(-x + a * Math.log(x) - logGamma(a))
  if (x < a + 1) {
    let term = 1 / a
    let total = term
    for (let k = 1; k < 10_000 && Math.abs(term) > Math.abs(total) * 1e-16; k++) {
      term *= x / (a + k)
      total += term
    }
    return front * total
  }
  // Lentz's method for the continued fraction of Q(a, x).
  let b = x + 1 - a
  let c = 1e300
  let d = 1 / b
  let fraction = d
  for (let k = 1; k < 10_000; k++) {
    const numerator = -k * (k - a)
    b += 2
    d = 1 / (numerator * d + b)
    c = b + numerator / c
    const step = d * c
    fraction *= step
    if (Math.abs(step - 1) < 1e-16) break
  }
  return 1 - front * fraction
}

/** P(X <= x) of a chi-square variable with `dof` degrees of freedom (not necessarily whole). */
export function chiSquareCdf(x: number, dof: number): number {
  return gammaP(dof / 2, x / 2)
}

/** The value that a chi-square variable stays below with this probability (0 < probability < 1). */
export function chiSquareQuantile(probability: number, dof: number): number {
  if (!(probability > 0 && probability < 1))
    throw new Error(`probability must lie inside 0..1: ${probability}`)
  if (!(dof > 0)) throw new Error(`degrees of freedom must be positive: ${dof}`)
  let low = 0
  let high = dof + 10
  while (chiSquareCdf(high, dof) < probability) high *= 2
  for (let step = 0; step < 200 && high - low > 1e-14 * high; step++) {
    const middle = 0.5 * (low + high)
    if (chiSquareCdf(middle, dof) < probability) low = middle
    else high = middle
  }
  return 0.5 * (low + high)
}
