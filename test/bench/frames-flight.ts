/**
 * A long flight in nine series, the same wherever it is made: sticks thrown and held, a gyro that follows late and
 * rings, vibration, throttle and two motors. Plain arithmetic without imports, since a page makes it too, from this
 * function's own text.
 */
export function longFlight(samples: number, rate_hz: number, seed: number): Record<string, Float32Array> {
  let state = seed >>> 0
  const chance = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0
    return state / 4294967296 - 0.5
  }
  const series: Record<string, Float32Array> = {}
  for (const axis of ['roll', 'pitch', 'yaw']) {
    const setpoint = new Float32Array(samples)
    const gyro = new Float32Array(samples)
    let wanted = 0
    let asked = 0
    let [rate, slope] = [0, 0]
    for (let n = 0; n < samples; n++) {
      if (n % Math.round(rate_hz * 1.3) === 0) wanted = chance() > 0.15 ? 900 * chance() : 0
      asked += (wanted - asked) * (20 / rate_hz)
      slope += ((asked - rate) * 900 - slope * 40) / rate_hz
      rate += slope / rate_hz
      setpoint[n] = asked
      gyro[n] = rate + 14 * Math.sin((n / rate_hz) * 2 * Math.PI * 180) + 8 * chance()
    }
    series[`setpoint ${axis} (deg/s)`] = setpoint
    series[`gyro ${axis} (deg/s)`] = gyro
  }
  const throttle = Float32Array.from(
    { length: samples },
    (_, n) => 45 + 25 * Math.sin(n / rate_hz) + 2 * chance(),
  )
  series['throttle (%)'] = throttle
  for (const motor of [1, 2]) series[`motor ${motor} (%)`] = throttle.map((share) => share + 12 * chance())
  return series
}
