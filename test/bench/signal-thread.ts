import { parentPort } from 'node:worker_threads'
import { spectrogram } from '../../workers/signal/spectrogram.ts'

interface Work {
  readonly shared: Float32Array
  /** Three axes of frames x 257 levels. */
  readonly levels: Float32Array
  readonly from: number
  readonly to: number
  readonly frames: number
  readonly rate_hz: number
}

/** One thread of signal.bench.ts: its share of the frames of three axes. */
parentPort!.on('message', ({ shared, levels, from, to, frames, rate_hz }: Work) => {
  for (let axis = 0; axis < 3; axis++) {
    const start = (axis * frames + from) * 257
    spectrogram(shared.subarray(from * 64, (to - 1) * 64 + 512), {
      rate_hz,
      window: 512,
      hop: 64,
      into: levels.subarray(start, start + (to - from) * 257),
    })
  }
  parentPort!.postMessage('done')
})
