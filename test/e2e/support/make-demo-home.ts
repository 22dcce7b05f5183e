/** `node make-demo-home.ts HOME`: a data folder whose logbook holds the demo flights, as after a first start. */
import '../../../electron/node-version.ts'
import { createDesk } from '../../../electron/desk/desk.ts'

const [home] = process.argv.slice(2)
if (!home) throw new Error('make-demo-home.ts needs a data folder')
const desk = await createDesk({ home })
for (;;) {
  const request = new Request('http://desk/desk/call/logbook.list', { method: 'POST', body: '{}' })
  const { value } = (await (await desk.handle(request)).json()) as { value: { demo: { state: string } } }
  if (value.demo.state === 'failed') throw new Error('the demo flights could not be made')
  if (value.demo.state === 'ready') break
  await new Promise((resolve) => setTimeout(resolve, 100))
}
await desk.close()
