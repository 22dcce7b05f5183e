import { gammaP, logGamma } from '../signal/chi-square.ts'
import { normalQuantile as roughNormalQuantile } from '../signal/student.ts'

/** P(Z <= z) of a standard normal variable, by the regularised incomplete gamma function; absolute error below 1e-12. */
export function normalCdf(z: number): number {
  if (Number.isNaN(z)) return NaN
  const tail = 0.5 * (1 - gammaP(0.5, 0.5 * z * z))
  return z < 0 ? tail : 1 - tail
}

/** Inverse of `normalCdf`: Acklam's approximation and one step of Newton's method. 0 and 1 give the infinities. */
export function normalQuantile(probability: number): number {
  if (probability === 0) return -Infinity
  if (probability === 1) return Infinity
  // By symmetry from the lower half, so that quantile(1 - p) is exactly -quantile(p) where 1 - p is exact.
  if (probability > 0.5) return -normalQuantile(1 - probability)
  const z = roughNormalQuantile(probability)
  const density = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI)
  return z - (normalCdf(z) - probability) / density
}

/**
 * I_x(a, b), the regularised incomplete beta function, by its continued fraction (Lentz's method; DLMF 8.17.22 [from
 * memory]). Absolute error about 1e-14.
 */
export function betaI(x: number, a: number, b: number): number {
  if (!(a > 0 && b > 0)) throw new Error(`beta needs positive parameters: ${a}, ${b}`)
  if (x <= 0) return 0
  if (x >= 1) return 1
  if (x > (a + 1) / (a + b + 2)) return 1 - betaI(1 - x, b, a)
  const front =
    Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a
  const tiny = 1e-300
  let c = 1
  let d = 1 - ((a + b) * x) / (a + 1)
  d = 1 / (Math.abs(d) < tiny ? tiny : d)
  let fraction = d
  for (let m = 1; m < 1000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1))
    let step = 1
    for (const numerator of [even, odd]) {
      d = 1 + numerator * d
      d = 1 / (Math.abs(d) < tiny ? tiny : d)
      c = 1 + numerator / c
      if (Math.abs(c) < tiny) c = tiny
      step = d * c
      fraction *= step
    }
    if (Math.abs(step - 1) < 1e-16) break
  }
  return front * fraction
}

/** P(T <= t) of Student's t with `dof` degrees of freedom (not necessarily whole). */
export function studentCdf(t: number, dof: number): number {
  if (!(dof > 0)) throw new Error(`degrees of freedom must be positive: ${dof}`)
  if (Number.isNaN(t)) return NaN
  const tail = 0.5 * betaI(dof / (dof + t * t), 0.5 * dof, 0.5)
  return t < 0 ? tail : 1 - tail
}

/** Inverse of `studentCdf` for 0 < probability < 1, by bisection to the last bit that matters; any dof > 0. */
export function studentQuantile(probability: number, dof: number): number {
  if (!(probability > 0 && probability < 1))
    throw new Error(`probability must lie inside 0..1: ${probability}`)
  if (probability === 0.5) return 0
  if (probability > 0.5) return -studentQuantile(1 - probability, dof)
  let low = -1
  while (studentCdf(low, dof) > probability) low *= 2
  let high = 0
  for (let step = 0; step < 200 && high - low > 1e-14 * -low; step++) {
    const middle = 0.5 * (low + high)
    if (studentCdf(middle, dof) < probability) low = middle
    else high = middle
  }
  return 0.5 * (low + high)
}

/** Two-sided p of a t value. */
export const studentP = (t: number, dof: number): number => 2 * studentCdf(-Math.abs(t), dof)
