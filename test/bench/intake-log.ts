import { createWriteStream } from 'node:fs'

/** Writes a made log of about 212 bytes a row: time, three axes of gyro, setpoint and stick, throttle, motors, and columns to fill up to 40. */
export async function writeLog(path: string, rows: number): Promise<void> {
  const axes = ['roll', 'pitch', 'yaw']
  const names = [
    'time_s',
    ...['gyro', 'setpoint', 'stick'].flatMap((kind) => axes.map((axis) => `${kind}.${axis}`)),
    'throttle',
    ...[1, 2, 3, 4].map((motor) => `motor.${motor}`),
    ...Array.from({ length: 25 }, (_, extra) => `extra.${extra}`),
  ]
  let state = 1
  const random = (): number => (state = (state * 48271) % 2147483647) / 2147483647
  const out = createWriteStream(path)
  let text = `${names.join(',')}\n`
  for (let row = 0; row < rows; row += 1) {
    const angle = row / 300
    const cells = [(row / 2000).toFixed(4)]
    for (const size of [300, 200, 90]) cells.push((size * Math.sin(angle) + 6 * random()).toFixed(3))
    for (const size of [300, 200, 90]) cells.push((size * Math.sin(angle + 0.02)).toFixed(2))
    for (const size of [0.4, 0.3, 0.1]) cells.push((size * Math.sin(angle + 0.02)).toFixed(4))
    cells.push((0.5 + 0.2 * Math.sin(angle / 9)).toFixed(3))
    for (let motor = 0; motor < 4; motor += 1) cells.push(String(1000 + Math.floor(1000 * random())))
    for (let extra = 0; extra < 25; extra += 1) {
      cells.push(
        extra % 3 === 0
          ? (10 * random() - 5).toFixed(2)
          : extra % 3 === 1
            ? String(Math.floor(100 * random()))
            : (99 * random()).toFixed(1),
      )
    }
    text += `${cells.join(',')}\n`
    if (text.length < 1 << 20) continue
    if (!out.write(text)) await new Promise<void>((resolve) => out.once('drain', () => resolve()))
    text = ''
  }
  await new Promise<void>((resolve) => out.end(text, resolve))
}
