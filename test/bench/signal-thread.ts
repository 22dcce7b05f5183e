import { parentPort } from 'node:worker_threads'
import { AXES, perAxis, type PerAxis } from '../../workers/flight/axes.ts'
import { errorBudget } from '../../workers/response/budget.ts'
import { closedLoop } from '../../workers/response/closed-loop.ts'
import { motorLimits } from '../../workers/response/headroom.ts'
import { lag } from '../../workers/response/lag.ts'
import { trackingTrace } from '../../workers/response/sliding.ts'
import { stepResponse } from '../../workers/response/step-response.ts'
import { throttleEvents } from '../../workers/response/throttle-events.ts'
import { trackingError } from '../../workers/response/tracking.ts'
import { noiseMap } from '../../workers/signal/noise-map.ts'
import { spectrogram, spectrogramLayout } from '../../workers/signal/spectrogram.ts'
import { welch } from '../../workers/signal/welch.ts'

/** Half of the frames of three axes' spectrograms. */
export interface SpectrogramWork {
  readonly kind: 'spectrogram'
  readonly shared: Float32Array
  /** Three axes of frames x 257 levels. */
  readonly levels: Float32Array
  readonly from: number
  readonly to: number
  readonly frames: number
  readonly rate_hz: number
}

/** Everything for one flight. */
export interface FlightWork {
  readonly kind: 'flight'
  readonly setpoint: PerAxis<Float32Array>
  readonly gyro: PerAxis<Float32Array>
  readonly throttle: Float32Array
  readonly motors: readonly Float32Array[]
  readonly rate_hz: number
}

/** What a thread says at its end: the time it had a processor for itself. */
export interface Done {
  readonly kind: 'done'
  readonly processor_ms: number
}

parentPort!.on('message', (work: SpectrogramWork | FlightWork) => {
  const before = process.threadCpuUsage()
  if (work.kind === 'spectrogram') computeLevels(work)
  else computeFlight(work)
  const { user, system } = process.threadCpuUsage(before)
  const done: Done = { kind: 'done', processor_ms: (user + system) / 1000 }
  parentPort!.postMessage(done)
})

function computeLevels({ shared, levels, from, to, frames, rate_hz }: SpectrogramWork): void {
  for (let axis = 0; axis < 3; axis++) {
    const start = (axis * frames + from) * 257
    spectrogram(shared.subarray(from * 64, (to - 1) * 64 + 512), {
      rate_hz,
      window: 512,
      hop: 64,
      into: levels.subarray(start, start + (to - from) * 257),
    })
  }
}

function computeFlight({ setpoint, gyro, throttle, motors, rate_hz }: FlightWork): void {
  for (const axis of AXES) trackingError(setpoint[axis], gyro[axis])
  parentPort!.postMessage({ kind: 'first' })
  const limited = motorLimits(motors).atTop
  const fits = perAxis((axis) => {
    const series = { setpoint: setpoint[axis], gyro: gyro[axis], rate_hz }
    lag(series.setpoint, series.gyro, { rate_hz })
    trackingTrace(series)
    errorBudget(series)
    welch(gyro[axis], { rate_hz, segment: 2048, single: true })
    noiseMap(gyro[axis], throttle, { rate_hz, segment: 256 })
    spectrogram(gyro[axis], { rate_hz, ...spectrogramLayout(rate_hz, gyro[axis].length) })
    const response = stepResponse({ ...series, limited })
    if (response.kind === 'refused') return null
    closedLoop(response.spectra)
    return response.fit
  })
  throttleEvents({ throttle, gyro, setpoint, rate_hz, fits })
}
