import { execFileSync, spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { Worker } from 'node:worker_threads'
import { AXES } from '../../workers/flight/axes.ts'
import type { ChannelName } from '../../workers/flight/signals.ts'
import { lag } from '../../workers/response/lag.ts'
import { butterworthLowPass } from '../../workers/signal/filters.ts'
import { filterZeroPhase } from '../../workers/signal/filtering.ts'
import { coherence, crossSpectra } from '../../workers/signal/cross-spectra.ts'
import { spectrogram } from '../../workers/signal/spectrogram.ts'
import type { Figure } from './run.ts'
import type { Done, FlightWork, SpectrogramWork, Work } from './signal-thread.ts'

const COUNT = 600_000
const RATE_HZ = 2000
const ROUNDS = 40

/** The same gyro-like series in every place: lines over noise from the tests' congruential sequence. */
function series(): { u: Float32Array; y: Float32Array } {
  const u = new Float32Array(COUNT)
  const y = new Float32Array(COUNT)
  let state = 5
  for (let n = 0; n < COUNT; n++) {
    state = (1664525 * state + 1013904223) % 2 ** 32
    u[n] = 200 * Math.sin(n / 90) + 30 * Math.sin(n / 17) + state / 2 ** 32
    y[n] = (u[n - 9] ?? 0) + 5 * Math.sin(0.7 * n)
  }
  return { u, y }
}

/**
 * Mean processor time of this thread in ms, warm: a busy machine distorts it less than the clock on the wall does. The
 * counter ticks in milliseconds, so only the sum over the rounds means something.
 */
const cost = (run: () => void): number => {
  for (let round = 0; round < 3; round++) run()
  const before = process.threadCpuUsage()
  for (let round = 0; round < ROUNDS; round++) run()
  const spent = process.threadCpuUsage(before)
  return (spent.user + spent.system) / 1000 / ROUNDS
}

interface Peer {
  readonly spectrogram_ms: number
  readonly coherence_ms: number
  readonly zeroPhase_ms: number
  readonly correlate_ms: number
  readonly fftw_ms: number | null
}

/** Debian's Python, or whichever comes first on the path: the one that has SciPy. */
const PYTHONS = ['/usr/bin/python3', 'python3']

const peerPython = (): string | null =>
  PYTHONS.find(
    (python) => spawnSync(python, ['-c', 'import scipy.signal'], { stdio: 'ignore' }).status === 0,
  ) ?? null

function askPeer(python: string): Peer {
  const script = join(import.meta.dirname, 'signal_peer.py')
  return JSON.parse(execFileSync(python, [script, String(ROUNDS)], { encoding: 'utf8' })) as Peer
}

function quicker(one: Peer, other: Peer): Peer {
  return {
    spectrogram_ms: Math.min(one.spectrogram_ms, other.spectrogram_ms),
    coherence_ms: Math.min(one.coherence_ms, other.coherence_ms),
    zeroPhase_ms: Math.min(one.zeroPhase_ms, other.zeroPhase_ms),
    correlate_ms: Math.min(one.correlate_ms, other.correlate_ms),
    fftw_ms: one.fftw_ms === null || other.fftw_ms === null ? null : Math.min(one.fftw_ms, other.fftw_ms),
  }
}

/**
 * The computing core against SciPy (and FFTW in single precision where its library is installed) in the same run, 600,000
 * samples, processor time but for the two threads; without SciPy only our own times. The spectrogram is of three axes, window 512, hop 64, in dB, copies included, on two threads.
 */
export async function bench(): Promise<Figure[]> {
  const { u, y } = series()
  // Before and after: on a shared machine either may meet a busy moment.
  const python = peerPython()
  const before = python && askPeer(python)
  const frames = Math.floor((COUNT - 512) / 64) + 1
  const into = [0, 1, 2].map(() => new Float32Array(frames * 257))
  const one_ms = cost(() => {
    for (const levels of into) spectrogram(u, { rate_hz: RATE_HZ, window: 512, hop: 64, into: levels })
  })
  const two_ms = await onTwoThreads(u)
  const coherence_ms = cost(() =>
    coherence(crossSpectra(u, y, { rate_hz: RATE_HZ, segment: 512, single: true })),
  )
  const room = new Float64Array(COUNT + 100)
  const zeroPhase_ms = cost(() => filterZeroPhase(butterworthLowPass(4, 80, RATE_HZ), u, room))
  const lag_ms = cost(() => lag(u, y, { rate_hz: RATE_HZ }))
  const flights = [inventedFlight(3), inventedFlight(4)]
  const fresh = startThreads()
  const unrehearsed = await firstTimes(fresh, flights)
  await Promise.all(fresh.map((thread) => thread.terminate()))
  const pair = await pairTimes(flights)
  const peer = python && before && quicker(before, askPeer(python))
  return [
    { name: 'spectrogram, 2 threads', value: two_ms, unit: 'ms' },
    ...(peer ? againstPeer(peer, { two_ms, one_ms, coherence_ms, zeroPhase_ms, lag_ms }) : []),
    { name: 'pair of 5 min at 2 kHz: first numbers', value: pair.first_ms, unit: 'ms', goal: '<= 300' },
    { name: 'pair: everything, first time', value: pair.cold_ms, unit: 'ms', goal: '<= 1200' },
    {
      name: 'pair: everything, first time, processor time of a thread',
      value: pair.coldProcessor_ms,
      unit: 'ms',
    },
    { name: 'pair: first numbers without the rehearsal', value: unrehearsed.first_ms, unit: 'ms' },
    { name: 'pair: everything without the rehearsal', value: unrehearsed.cold_ms, unit: 'ms' },
    { name: 'pair: everything, warm', value: pair.warm_ms, unit: 'ms', goal: '<= 500' },
    { name: 'pair: everything, warm, processor time of a thread', value: pair.warmProcessor_ms, unit: 'ms' },
    { name: 'pair: one more signal of all axes, warm', value: pair.signal_ms, unit: 'ms' },
  ]
}

interface Own {
  readonly two_ms: number
  readonly one_ms: number
  readonly coherence_ms: number
  readonly zeroPhase_ms: number
  readonly lag_ms: number
}

/** Ratios against SciPy, and FFTW where it could be compiled. */
function againstPeer(peer: Peer, { two_ms, one_ms, coherence_ms, zeroPhase_ms, lag_ms }: Own): Figure[] {
  return [
    {
      name: 'spectrogram, 2 threads, times SciPy',
      value: peer.spectrogram_ms / two_ms,
      unit: 'x',
      goal: '>= 5',
    },
    { name: 'spectrogram, 1 thread, times SciPy', value: peer.spectrogram_ms / one_ms, unit: 'x' },
    ...(peer.fftw_ms === null
      ? []
      : [
          {
            name: 'spectrogram, 1 thread, share of FFTW',
            value: one_ms / peer.fftw_ms,
            unit: 'x',
            goal: '<= 1.6',
          },
        ]),
    { name: 'coherence, times SciPy', value: peer.coherence_ms / coherence_ms, unit: 'x', goal: '>= 8' },
    {
      name: 'zero-phase filter, times SciPy',
      value: peer.zeroPhase_ms / zeroPhase_ms,
      unit: 'x',
      goal: '>= 1.5',
    },
    { name: 'lag, times SciPy correlation', value: peer.correlate_ms / lag_ms, unit: 'x', goal: '>= 2' },
  ]
}

const startThreads = () => [0, 1].map(() => new Worker(new URL('signal-thread.ts', import.meta.url)))

/**
 * Sends each thread its work; resolves, when both are done, to the longer of their processor times, which is what the
 * round takes on two free processors. `onFirst` is called at the first sign of numbers.
 */
function round(threads: readonly Worker[], work: readonly Work[], onFirst = () => {}): Promise<number> {
  const times = Promise.all(
    threads.map(
      (thread, index) =>
        new Promise<number>((resolve) => {
          const listen = (message: Done | { kind: 'first' }) => {
            if (message.kind === 'first') return onFirst()
            thread.off('message', listen)
            resolve(message.processor_ms)
          }
          thread.on('message', listen)
          thread.postMessage(work[index])
        }),
    ),
  )
  return times.then((all) => Math.max(...all))
}

const shared = (values: Float32Array): Float32Array => {
  const copy = new Float32Array(new SharedArrayBuffer(values.byteLength))
  copy.set(values)
  return copy
}

/** Half of the frames in each of two warm threads, samples and levels in shared memory. */
async function onTwoThreads(u: Float32Array): Promise<number> {
  const frames = Math.floor((COUNT - 512) / 64) + 1
  const levels = new Float32Array(new SharedArrayBuffer(4 * 3 * frames * 257))
  const samples = shared(u)
  const half = frames >> 1
  const work = [
    [0, half],
    [half, frames],
  ].map(([from, to]): SpectrogramWork => {
    return { kind: 'spectrogram', shared: samples, levels, from: from!, to: to!, frames, rate_hz: RATE_HZ }
  })
  const threads = startThreads()
  let least = Infinity
  for (let n = 0; n < ROUNDS + 2; n++) {
    const start_ms = performance.now()
    await round(threads, work)
    if (n >= 2) least = Math.min(least, performance.now() - start_ms)
  }
  await Promise.all(threads.map((thread) => thread.terminate()))
  return least
}

interface FirstTimes {
  /** By the clock on the wall. */
  readonly first_ms: number
  readonly cold_ms: number
  /** Of the slower thread's processor. */
  readonly coldProcessor_ms: number
}

interface PairTimes extends FirstTimes {
  readonly warm_ms: number
  /** Of the slower thread's processor in the best round: a busy machine slows down its neighbours, too. */
  readonly warmProcessor_ms: number
  /** Spectra, noise map and spectrogram of a further signal: what choosing it costs. */
  readonly signal_ms: number
}

/** Both flights once, a thread each, and the first numbers of it. The threads run and their code is read. */
async function firstTimes(threads: readonly Worker[], work: readonly FlightWork[]): Promise<FirstTimes> {
  await round(threads, [emptyWork, emptyWork])
  let first_ms = Infinity
  const start_ms = performance.now()
  const coldProcessor_ms = await round(threads, work, () => {
    first_ms = Math.min(first_ms, performance.now() - start_ms)
  })
  return { first_ms, cold_ms: performance.now() - start_ms, coldProcessor_ms }
}

/**
 * Everything for a pair of flights of 5 min at 2 kHz, a thread each: the first round, its first numbers, later ones. Three
 * axes of gyro, unfiltered gyro, setpoint and four motors with their speeds. Nothing is kept from round to round. As in the
 * window, the threads have rehearsed when the pair comes.
 */
async function pairTimes(work: readonly FlightWork[]): Promise<PairTimes> {
  const threads = startThreads()
  await round(threads, [{ kind: 'rehearsal' }, { kind: 'rehearsal' }])
  const first = await firstTimes(threads, work)
  let warm_ms = Infinity
  let spent_ms = Infinity
  const rounds = 8
  for (let n = 0; n < rounds; n++) {
    const again_ms = performance.now()
    spent_ms = Math.min(spent_ms, await round(threads, work))
    warm_ms = Math.min(warm_ms, performance.now() - again_ms)
  }
  const further = work.map(({ signals }) => ({ kind: 'signal', signals, signal: 'unfiltered' }) as const)
  let signal_ms = Infinity
  for (let n = 0; n < rounds; n++) {
    const again_ms = performance.now()
    await round(threads, further)
    signal_ms = Math.min(signal_ms, performance.now() - again_ms)
  }
  await Promise.all(threads.map((thread) => thread.terminate()))
  return { ...first, warm_ms, warmProcessor_ms: spent_ms, signal_ms }
}

const emptyWork: SpectrogramWork = {
  kind: 'spectrogram',
  shared: new Float32Array(1024),
  levels: new Float32Array(3 * 257 * 4),
  from: 0,
  to: 4,
  frames: 4,
  rate_hz: RATE_HZ,
}

/**
 * Steps of the setpoint, a second-order answer with noise and the rotors' line, filtered and not, a throttle that wanders,
 * quantised motors, electrical speeds.
 */
function inventedFlight(seed: number): FlightWork {
  let state = seed
  const random = () => (state = (1664525 * state + 1013904223) % 2 ** 32) / 2 ** 32 - 0.5
  const channels: Partial<Record<ChannelName, Float32Array>> = {}
  const throttle = new Float32Array(COUNT)
  let [level, target] = [0.4, 0.4]
  for (let n = 0; n < COUNT; n++) {
    if (n % 4000 === 0) target = 0.5 + 0.5 * random()
    level += 0.005 * (target - level)
    throttle[n] = level
  }
  channels.throttle = shared(throttle)
  const turn_hz = throttle.map((share) => 120 + 200 * share)
  for (const axis of AXES) {
    const setpoint = new Float32Array(COUNT)
    const unfiltered = new Float32Array(COUNT)
    const gyro = new Float32Array(COUNT)
    let [demand, a, b, rate, change, turn, filtered] = [0, 0, 0, 0, 0, 0, 0]
    for (let n = 0; n < COUNT; n++) {
      if (random() > 0.4985) demand = 800 * random()
      a += 0.04 * (demand - a)
      b += 0.04 * (a - b)
      change += (3600 * (b - rate) - 60 * change) / RATE_HZ
      rate += change / RATE_HZ
      turn += (2 * Math.PI * turn_hz[n]!) / RATE_HZ
      setpoint[n] = b
      unfiltered[n] = rate + 20 * random() + 8 * Math.sin(turn)
      filtered += 0.4 * (unfiltered[n]! - filtered)
      gyro[n] = filtered
    }
    channels[`setpoint.${axis}`] = shared(setpoint)
    channels[`unfiltered.${axis}`] = shared(unfiltered)
    channels[`gyro.${axis}`] = shared(gyro)
  }
  for (const motor of [1, 2, 3, 4] as const) {
    const command = (share: number) =>
      Math.round(Math.min(1, Math.max(0.05, share + 0.1 * random())) * 2000) / 2000
    channels[`motor.${motor}`] = shared(throttle.map(command))
    channels[`speed.${motor}`] = shared(turn_hz.map((hz) => 60 * 7 * hz))
  }
  const t_s = new Float64Array(new SharedArrayBuffer(8 * COUNT))
  for (let n = 0; n < COUNT; n++) t_s[n] = n / RATE_HZ
  return {
    kind: 'flight',
    signals: { t_s, rate_hz: RATE_HZ, channels, electricalSpeeds: true },
    settings: [
      { name: 'loop rate', value: '8 kHz' },
      { name: 'gyro low-pass Hz', value: '120' },
      { name: 'D low-pass Hz', value: '90' },
    ],
  }
}
