import { NO_FAULTS } from '../../workers/model/faults.ts'
import { HEADER_STYLES } from '../../workers/model/log-style.ts'
import { SCENARIOS } from '../../workers/model/scenarios.ts'

const list = (rows: readonly (readonly [string, string])[]) => {
  const width = Math.max(...rows.map(([name]) => name.length))
  return rows.map(([name, text]) => `  ${name.padEnd(width)}  ${text}`).join('\n')
}

/** What `npm run simulate -- --help` prints: this command's documentation. */
export function helpText(): string {
  const scenarios = list([
    ['demo', 'the five flights and four single changes that the program shows at first start'],
    ...SCENARIOS.map((one): [string, string] => [one.name, one.purpose]),
  ])
  const words = Object.keys(HEADER_STYLES).join(', ')
  return `npm run simulate -- --scenario NAME --seed N --out DIR

Flies an invented craft and writes its log with the truth beside it. Per flight, into DIR:
  NAME.csv           the delimited log, as a craft would have recorded it
  NAME.settings.txt  the settings in force, as "name = value" lines
  NAME.truth.json    everything that decided the flight ("setup"), each manoeuvre, knock, wake gust and
                     stretch at the motors' limits with its times, the linear closed loop per axis (step
                     response, figures, frequency response), and what was done to the log ("log")
  NAME.trail.json    demo only: title, notes, the change made and why, moments marked
The same scenario, seed and options give the same bytes.

Scenarios
${scenarios}

Options
  --seed N             whole number from 0; default 1
  --rate HZ            rate of the log, 100 to 8000; default 1000
  --noise X            gyro noise and vibration as a multiple of the craft's own; 0 for none
  --set NAME=VALUE     changes one parameter; may be repeated. Names are as in a truth file's "setup":
                       --set tune.axes.roll.p=1.4 --set craft.mass_kg=0.9 --set pilot.roughness=0.7
                       --set tune.stickSmoothing_hz=off --set craft.motor.thrustLaw=linear
  --fine               every column, also the unfiltered gyro, the controller's terms and the motors' speeds,
                       with more decimals, time in microseconds
  --words STYLE        wording of the header: ${words}
  --units LIST         other units, by kind: time=s|ms|us|ns, rate=dps|radps|mradps|cdps|ddps,
                       stick=unit|stick100|stick500|stick1000|stickUs, share=share|percent|permille|pulseUs|bits11|bits16
                       speed=rpm|rpm100|revps|turnradps|erpm|erpm100|erevps (electrical: seven pole pairs),
                       term=termShare|termPercent|termPermille
                       (share: throttle and motors), for instance --units rate=radps,share=bits16
  --separator C        comma, semicolon (with decimal commas) or tab
  --fault LIST         what is wrong with the log, for instance --fault jitter=0.2,lost=0.01,wrap,without=stick
                         jitter=X      stamps scattered by up to this share of the frame interval
                         lost=X        share of rows lost; burst=N sets the mean length of a loss (${NO_FAULTS.lostBurst})
                         duplicate=X   share of rows with the stamp of the row before
                         backward=X    share of rows whose stamp falls back
                         wrap          a 32-bit microsecond counter that runs over in mid-flight
                         quantum=X     gyro and setpoint rounded to multiples of X deg/s
                         cut           the last line breaks off
                         without=A+B   columns left out: gyro, unfiltered, setpoint, stick, throttle, motor, speed,
                         pTerm, iTerm, dTerm, feedForward, battery
  --list               names of the scenarios, one a line
  --help               this text

The demo takes --seed only. Exit code 0, or 2 with one plain line on standard error for a request that can't be
carried out: an unknown scenario, a parameter out of bounds, a craft too heavy to fly, a tune that does not settle.`
}
