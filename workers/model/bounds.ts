/**
 * The bounds of every number that decides a flight, under the name by which `--set` and the truth know it.
 * A `*` stands for any axis or list position. Wide enough for anything that flies, narrow enough to catch a slip
 * of units.
 */
export interface Bound {
  readonly path: string
  readonly low: number
  readonly high: number
  readonly unit: string
  readonly whole?: boolean
}

const bound = (path: string, low: number, high: number, unit: string, whole = false): Bound => ({
  path,
  low,
  high,
  unit,
  whole,
})

export const BOUNDS: readonly Bound[] = [
  bound('craft.mass_kg', 0.02, 20, 'kg'),
  bound('craft.inertia_kgm2.*', 1e-6, 10, 'kg m^2'),
  bound('craft.armForward_m', 0.01, 1, 'm'),
  bound('craft.armSide_m', 0.01, 1, 'm'),
  bound('craft.propeller.diameter_m', 0.02, 0.8, 'm'),
  bound('craft.propeller.thrustCoefficient', 0.005, 1, ''),
  bound('craft.propeller.torqueCoefficient', 0.0005, 0.2, ''),
  bound('craft.propeller.blades', 2, 8, 'blades', true),
  bound('craft.motor.fullSpeed_revps', 20, 2000, 'rev/s'),
  bound('craft.motor.droop', 0, 0.9, ''),
  bound('craft.motor.lagUp_s', 0.0005, 1, 's'),
  bound('craft.motor.lagDown_s', 0.0005, 1, 's'),
  bound('craft.motor.rotorInertia_kgm2', 0, 0.001, 'kg m^2'),
  bound('craft.battery.cells', 1, 14, 'cells', true),
  bound('craft.battery.capacity_Ah', 0.05, 50, 'Ah'),
  bound('craft.battery.resistance_ohm', 0, 1, 'ohm'),
  bound('craft.battery.full_V', 1, 5, 'V'),
  bound('craft.battery.empty_V', 1, 5, 'V'),
  bound('craft.battery.nominal_V', 1, 5, 'V'),
  bound('craft.damping_Nms.*', 0, 10, 'N m s'),
  bound('craft.drag_Nspm', 0, 20, 'N s/m'),
  bound('craft.transportDelay_s', 0, 0.05, 's'),
  bound('craft.vibration.imbalance_dps.*', 0, 500, 'deg/s'),
  bound('craft.vibration.secondHarmonic', 0, 5, ''),
  bound('craft.vibration.bladePass', 0, 5, ''),
  bound('craft.vibration.resonance_hz', 20, 1000, 'Hz'),
  bound('craft.vibration.resonanceQuality', 0.5, 100, ''),
  bound('craft.vibration.resonanceGain', 0, 50, ''),
  bound('craft.vibration.gyroNoise_dpsrtHz', 0, 1, 'deg/s/rtHz'),
  bound('tune.axes.*.p', 0, 200, 'share per 1000 deg/s'),
  bound('tune.axes.*.i', 0, 5000, 'share per 1000 deg'),
  bound('tune.axes.*.d', 0, 5, 'share per 1000 deg/s^2'),
  bound('tune.axes.*.feedForward', 0, 5, 'share per 1000 deg/s^2'),
  bound('tune.axes.*.windupLimit', 0, 1, 'share'),
  bound('tune.curves.*.full_dps', 20, 1800, 'deg/s'),
  bound('tune.curves.*.softness', 0, 0.95, ''),
  bound('tune.gyroLowPass.f_hz', 5, 2000, 'Hz'),
  bound('tune.gyroLowPass.order', 1, 2, '', true),
  bound('tune.notches.*.f_hz', 10, 2000, 'Hz'),
  bound('tune.notches.*.quality', 0.3, 50, ''),
  bound('tune.dLowPass_hz', 5, 2000, 'Hz'),
  bound('tune.stickSmoothing_hz', 1, 500, 'Hz'),
  bound('tune.controlRate_hz', 500, 32000, 'Hz'),
  bound('tune.idle', 0, 0.3, 'share'),
  bound('tune.top', 0.2, 1, 'share'),
  bound('pilot.skill', 0, 1, ''),
  bound('pilot.roughness', 0, 1, ''),
  bound('weather.wind_mps', 0, 20, 'm/s'),
  bound('weather.turbulence_mps', 0, 6, 'm/s'),
  bound('trouble.wash', 0, 5, ''),
  bound('trouble.knocks_pmin', 0, 60, 'a minute'),
  bound('trouble.knock_dps', 0, 500, 'deg/s'),
  bound('link.rate_hz', 50, 500, 'Hz'),
  bound('link.jitter', 0, 0.9, ''),
  bound('link.loss', 0, 0.5, ''),
  bound('batteryUsed', 0, 0.9, ''),
  bound('noise', 0, 20, ''),
  bound('rate_hz', 8000, 64000, 'Hz'),
  bound('logRate_hz', 100, 8000, 'Hz'),
  bound('seed', 0, 4294967295, '', true),
  bound('longest_s', 1, 1800, 's'),
]

/** The bound of a path such as `tune.axes.roll.p`; undefined where none is set. */
export function boundOf(path: string): Bound | undefined {
  const parts = path.split('.')
  return BOUNDS.find((candidate) => {
    const wanted = candidate.path.split('.')
    return (
      wanted.length === parts.length && wanted.every((part, index) => part === '*' || part === parts[index])
    )
  })
}

/** "between 50 and 500 Hz" */
export function boundWords({ low, high, unit }: Bound): string {
  return `between ${low} and ${high}${unit === '' ? '' : ` ${unit}`}`
}
