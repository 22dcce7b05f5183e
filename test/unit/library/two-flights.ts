/**
 * A log with two flights of 20 s and 30 s and a hop of 3 s, on the ground before, between and after; 100 Hz. The
 * throttle is high and the gyro turns only in the air.
 */
export const FLOWN_S = [
  { t0_s: 10, t1_s: 30 },
  { t0_s: 60, t1_s: 90 },
] as const
export const HOP_S = { t0_s: 110, t1_s: 113 } as const
export const LENGTH_S = 130
export const RATE_HZ = 100

const inAir = (t_s: number) => [...FLOWN_S, HOP_S].some(({ t0_s, t1_s }) => t_s >= t0_s && t_s < t1_s)

export function twoFlightsLog(): string {
  const rows = Array.from({ length: LENGTH_S * RATE_HZ }, (_, row) => {
    const t_s = row / RATE_HZ
    const flies = inAir(t_s)
    const roll = flies ? 120 * Math.sin(t_s * 7) + 3 * Math.sin(t_s * 90) : 0.2 * Math.sin(t_s * 50)
    const pitch = flies ? 80 * Math.cos(t_s * 5) : 0.2 * Math.cos(t_s * 40)
    return [
      t_s,
      roll,
      pitch,
      flies ? 10 * Math.sin(t_s * 3) : 0.1 * Math.sin(t_s * 31),
      flies ? 45 + 5 * Math.sin(t_s) : 0,
    ]
      .map((value) => value.toFixed(3))
      .join(',')
  })
  return `time (s),gyro roll (deg/s),gyro pitch (deg/s),gyro yaw (deg/s),throttle (%)\n${rows.join('\n')}\n`
}
