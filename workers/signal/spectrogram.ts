import { Problem } from '../log/problems.ts'
import { kernelSpectrogram, kernelTakes } from './kernel/spectra-kernel.ts'
import { binFrequencies_hz, oneSidedFactor, segmentTransform, unusableFinder } from './segments.ts'
import { windowPower, windowSamples, type WindowName } from './windows.ts'

/** Levels below this are shown as this: silence has no logarithm. */
export const FLOOR_DB = -120
const FLOOR = 10 ** (FLOOR_DB / 10)

export interface SpectrogramOptions {
  readonly rate_hz: number
  /** Samples per frame. */
  readonly window: number
  /** Samples between the starts of two frames. */
  readonly hop: number
  /** 'hann' when left out. */
  readonly shape?: WindowName
  /** Indices of samples before which the clock has a gap. */
  readonly breaks?: ArrayLike<number>
  /** True where it is known that every sample is finite: they are not looked through then. */
  readonly whole?: boolean
  /** True: 64-bit arithmetic throughout, several times slower. */
  readonly exact?: boolean
  /** An array to write the levels to, used when it is long enough. */
  readonly into?: Float32Array
  /** Called now and then with the share done, at the end with 1. */
  readonly onProgress?: (done: number) => void
  /** Asked now and then; true ends the work with Problem 'cancelled'. */
  readonly isCancelled?: () => boolean
}

export interface Spectrogram {
  readonly frames: number
  readonly bins: number
  /** Centres of the frames, relative to the first sample. */
  readonly t_s: Float64Array
  readonly f_hz: Float64Array
  /** frames x bins, a row per frame: 10 log10 of the one-sided density. NaN: nothing to draw. */
  readonly level_db: Float32Array
  readonly reference: '1 (deg/s)^2/Hz'
}

/** Frames between two calls of onProgress and isCancelled. */
const FRAMES_PER_TURN = 64

/**
 * Short-time spectra of a rate in deg/s: per frame the mean is taken off, the window applied, and the density
 * 2|X|^2/(rate sum w^2) (not doubled at DC and half the rate) given in dB against 1 (deg/s)^2/Hz, at least
 * FLOOR_DB. A frame is centred window/2 samples after its first. Equals scipy.signal.spectrogram in mode 'psd'.
 * Frames that hold a NaN or reach over a break are NaN throughout. No frames when the series is shorter than one.
 * Windows of a power of two go through the compiled kernel in 32-bit arithmetic, which is right to 0.03 dB within 90 dB
 * of a frame's peak; `exact` asks for the plain code in 64 bits.
 */
export function spectrogram(samples: ArrayLike<number>, options: SpectrogramOptions): Spectrogram {
  const { rate_hz, window: size, hop } = options
  if (!(rate_hz > 0)) throw new Error(`sample rate must be positive: ${rate_hz}`)
  if (!(Number.isInteger(size) && size >= 2)) throw new Error(`window must be at least 2 samples: ${size}`)
  if (!(Number.isInteger(hop) && hop >= 1)) throw new Error(`hop must be at least 1 sample: ${hop}`)
  const frames = samples.length < size ? 0 : Math.floor((samples.length - size) / hop) + 1
  const bins = Math.floor(size / 2) + 1
  const level_db = reused(options.into, frames * bins)
  const watch = (frame: number) => {
    if (options.isCancelled?.()) throw new Problem('cancelled', 'The spectrogram was no longer wanted.')
    options.onProgress?.(frame / frames)
  }
  if (options.exact !== true && kernelTakes(size, frames)) {
    const shape = options.shape ?? 'hann'
    const scale = 1 / (rate_hz * windowPower(windowSamples(shape, size)))
    kernelSpectrogram(samples, frames, { size, hop, shape, scale, floor: FLOOR }, level_db, watch)
  } else plainSpectrogram(samples, frames, options, level_db, watch)
  if (options.whole !== true || (options.breaks?.length ?? 0) > 0) {
    const nextObstacle = obstacles(samples, options.breaks)
    for (let frame = 0; frame < frames; frame++) {
      if (nextObstacle(frame * hop) < frame * hop + size) level_db.fill(NaN, frame * bins, (frame + 1) * bins)
    }
  }
  options.onProgress?.(1)
  const t_s = Float64Array.from({ length: frames }, (_, frame) => (frame * hop + size / 2) / rate_hz)
  return { frames, bins, t_s, f_hz: binFrequencies_hz(size, rate_hz), level_db, reference: '1 (deg/s)^2/Hz' }
}

/** Fresh memory costs more than the spectra that fill it: an array that is long enough is used again. */
function reused(into: Float32Array | undefined, length: number): Float32Array {
  return into && into.length >= length ? into.subarray(0, length) : new Float32Array(length)
}

function plainSpectrogram(
  samples: ArrayLike<number>,
  frames: number,
  { rate_hz, window: size, hop, shape }: SpectrogramOptions,
  level_db: Float32Array,
  watch: (frame: number) => void,
): void {
  const window = windowSamples(shape ?? 'hann', size)
  const transform = segmentTransform(window, 'constant')
  const bins = transform.re.length
  const scale = 1 / (rate_hz * windowPower(window))
  for (let frame = 0; frame < frames; frame++) {
    if (frame % FRAMES_PER_TURN === 0) watch(frame)
    transform.at(samples, frame * hop)
    const row = frame * bins
    for (let k = 0; k < bins; k++) {
      const power = transform.re[k]! ** 2 + transform.im[k]! ** 2
      level_db[row + k] = 10 * Math.log10(Math.max(FLOOR, power * scale * oneSidedFactor(k, size)))
    }
  }
}

/**
 * For growing values of `start`: the first index that a frame from `start` must not contain. A NaN at n bars
 * frames holding n; a break before n bars frames that hold both n - 1 and n.
 */
function obstacles(samples: ArrayLike<number>, breaks: ArrayLike<number> = []): (start: number) => number {
  const sorted = Array.from(breaks).sort((a, b) => a - b)
  const nextUnusable = unusableFinder(samples)
  let next = 0
  return (start) => {
    while (next < sorted.length && sorted[next]! <= start) next++
    return Math.min(nextUnusable(start), sorted[next] ?? Infinity)
  }
}

/**
 * Window and hop that suit a rate and a number of samples (common practice, no source): the window grows with
 * the square root of the rate - 64 samples at 100 Hz, 256 at 1 and 2 kHz, 512 at 4 and 8 kHz - so that both the
 * motors' lines and their sweeps stay sharp, and shrinks for short spans until eight of them fit. The hop gives
 * about two frames per column of the picture, but at least half and at most 7/8 overlap.
 */
export function spectrogramLayout(
  rate_hz: number,
  sampleCount: number,
  columns = 800,
): { readonly window: number; readonly hop: number } {
  if (!(rate_hz > 0)) throw new Error(`sample rate must be positive: ${rate_hz}`)
  let window = 2 ** Math.ceil(Math.log2(5.5 * Math.sqrt(rate_hz)))
  window = Math.min(1024, Math.max(16, window))
  while (window > 16 && sampleCount < 8 * window) window /= 2
  const wanted = Math.round(sampleCount / (2 * columns))
  const hop = Math.min(window / 2, Math.max(window / 8, wanted))
  return { window, hop: Math.max(1, Math.round(hop)) }
}
