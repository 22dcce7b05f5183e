/** Samples that go through a loop in one call. */
const STRETCH = 8192

/**
 * Calls `work` for one stretch of 0..length after the other. For loops over whole flights that are run only once or twice:
 * engines compile the loop's function when it has been called some times, but one long loop anew in every call.
 */
export function inStretches(length: number, work: (from: number, to: number) => void): void {
  for (let from = 0; from < length; from += STRETCH) work(from, Math.min(length, from + STRETCH))
}
