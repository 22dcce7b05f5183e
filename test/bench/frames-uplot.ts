import { readFileSync } from 'node:fs'
import { longFlight } from './frames-flight.ts'

/**
 * A page that draws two flights by uPlot itself, every sample given to it: the same five panes, the same series, wheel
 * and drag handled once a frame as the program does. Its plots stand in elements with the test id `pane`.
 */
export function uplotPage(samples: number, rate_hz: number, seeds: readonly [number, number]): string {
  const library = readFileSync(
    new URL('../../node_modules/uplot/dist/uPlot.iife.min.js', import.meta.url),
    'utf8',
  )
  return `<!doctype html><meta charset="utf-8"><style>body{margin:0}canvas{display:block}</style><body>
<script>${library}</script><script>
const longFlight = ${longFlight.toString()}
const flights = [${seeds.join(',')}].map((seed) => longFlight(${samples}, ${rate_hz}, seed))
const x = Float64Array.from({ length: ${samples} }, (_, n) => n / ${rate_hz})
const whole = { min: 0, max: ${samples} / ${rate_hz} }
let span = { ...whole }, asked = false
const rows = [['roll'], ['pitch'], ['yaw'], ['throttle'], ['motor']].map(([word]) =>
  flights.flatMap((flight) => Object.keys(flight).filter((name) => name.includes(word)).map((name) => flight[name])))
const charts = rows.map((series) => {
  const pane = document.createElement('div')
  pane.dataset.testid = 'pane'
  document.body.append(pane)
  const chart = new uPlot({
    width: 980, height: 110, padding: [0, 0, 0, 0], legend: { show: false }, cursor: { show: false },
    scales: { x: { time: false, auto: false } }, axes: [{ show: false }, { show: false }],
    series: [{}, ...series.map((_, index) => ({ stroke: index < series.length / 2 ? '#0072b2' : '#d55e00', width: 1.5 }))],
  }, [x, ...series], pane)
  chart.setScale('x', span)
  pane.addEventListener('wheel', (event) => {
    event.preventDefault()
    const at = span.min + (event.offsetX / 980) * (span.max - span.min)
    const factor = 1.18 ** (event.deltaY / 100)
    show({ min: at + (span.min - at) * factor, max: at + (span.max - at) * factor })
  }, { passive: false })
  let from = null
  pane.addEventListener('pointerdown', (event) => (from = { x: event.clientX, span }))
  addEventListener('pointerup', () => (from = null))
  addEventListener('pointermove', (event) => {
    if (!from) return
    const by = ((event.clientX - from.x) / 980) * (from.span.max - from.span.min)
    show({ min: from.span.min - by, max: from.span.max - by })
  })
  return chart
})
function show(next) {
  span = next
  if (asked) return
  asked = true
  requestAnimationFrame(() => {
    asked = false
    for (const chart of charts) chart.setScale('x', span)
  })
}
document.title = 'ready'
</script>`
}
