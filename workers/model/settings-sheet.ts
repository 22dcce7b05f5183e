import { AXES } from '../flight/axes.ts'
import { POLE_PAIRS, type Craft } from './craft.ts'
import type { Tune } from './tune.ts'

/** The settings in force, as `name = value` lines with a comment line per group: what lies beside a log. */
export function settingsSheet(
  craft: Craft,
  tune: Tune,
  more: readonly { readonly name: string; readonly value: string }[] = [],
): string {
  const lines = [
    `# settings of ${craft.name}`,
    '',
    '# gains: share of the motors per 1000 deg/s, deg, deg/s^2, deg/s^2',
  ]
  for (const axis of AXES) {
    const gains = tune.axes[axis]
    lines.push(
      `${axis} P = ${plain(gains.p)}`,
      `${axis} I = ${plain(gains.i)}`,
      `${axis} D = ${plain(gains.d)}`,
      `${axis} feed-forward = ${plain(gains.feedForward)}`,
      `${axis} I limit = ${plain(gains.windupLimit)}`,
    )
  }
  lines.push('', '# sticks: deg/s at full stick, softness 0..1')
  for (const axis of AXES)
    lines.push(
      `${axis} full stick = ${plain(tune.curves[axis].full_dps)}`,
      `${axis} softness = ${plain(tune.curves[axis].softness)}`,
    )
  lines.push(
    `stick smoothing Hz = ${tune.stickSmoothing_hz === null ? 'off' : plain(tune.stickSmoothing_hz)}`,
  )
  lines.push('', '# filters')
  const low = tune.gyroLowPass
  lines.push(`gyro low-pass Hz = ${low === null ? 'off' : plain(low.f_hz)}`)
  if (low !== null) lines.push(`gyro low-pass order = ${low.order}`)
  tune.notches.forEach((one, index) =>
    lines.push(
      `notch ${index + 1} Hz = ${plain(one.f_hz)}`,
      `notch ${index + 1} quality = ${plain(one.quality)}`,
    ),
  )
  lines.push(`D low-pass Hz = ${tune.dLowPass_hz === null ? 'off' : plain(tune.dLowPass_hz)}`)
  lines.push('', '# motors and loop')
  lines.push(`motor idle % = ${plain(tune.idle * 100)}`, `motor top % = ${plain(tune.top * 100)}`)
  lines.push(`loop rate Hz = ${plain(tune.controlRate_hz)}`)
  const inches = craft.propeller.diameter_m / 0.0254
  lines.push(
    '',
    '# build',
    `propeller inch = ${plain(inches)}`,
    `propeller blades = ${craft.propeller.blades}`,
    `motor pole pairs = ${POLE_PAIRS}`,
  )
  lines.push(`weight g = ${plain(craft.mass_kg * 1000)}`, `battery cells = ${craft.battery.cells}`)
  for (const { name, value } of more) lines.push(`${name} = ${value}`)
  return lines.join('\n') + '\n'
}

/** At most six significant digits, without the dust of binary fractions. */
function plain(value: number): string {
  return String(Number(value.toPrecision(6)))
}
