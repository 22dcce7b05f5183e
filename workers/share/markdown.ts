import { plainLine } from '../picture/text.ts'
import type { Block, ShareDocument, TableBlock } from './document.ts'

/** A document as Markdown with tables (CommonMark 0.31 and the pipe tables in wide use). Ends with a line feed. */
export function markdown({ title, blocks }: ShareDocument): string {
  const parts = [`# ${escapeMarkdown(title)}`, ...blocks.map(markdownOf)]
  return `${parts.filter((part) => part !== '').join('\n\n')}\n`
}

function markdownOf(block: Block): string {
  switch (block.kind) {
    case 'heading':
      return `## ${escapeMarkdown(block.text)}`
    case 'paragraph':
      return block.tone === 'plain' ? escapeMarkdown(block.text) : `**${escapeMarkdown(block.text)}**`
    case 'list':
      return block.items.map((item) => `- ${escapeMarkdown(item)}`).join('\n')
    case 'table':
      return tableOf(block)
    case 'picture':
      return ''
  }
}

function tableOf({ head, rows, numbers }: TableBlock): string {
  const line = (cells: readonly string[]): string => `| ${cells.map(escapeMarkdown).join(' | ')} |`
  const rule = head.map((_, index) => (numbers.includes(index) ? '---:' : '---'))
  return [line(head), `| ${rule.join(' | ')} |`, ...rows.map(line)].join('\n')
}

/**
 * Any text as one line of Markdown that shows just that text: every sign that could mean something gets a backslash,
 * which CommonMark (section 2.4) takes off again before punctuation; `&`, `<` and `>` become entities, for readers
 * that let markup through; what would be made a link by itself is broken up.
 */
export function escapeMarkdown(text: string): string {
  return plainLine(text)
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll(/[\\`*_{}[\]#|~$]/g, '\\$&')
    .replaceAll(
      /:(?=\/\/)|(?<=\bwww)\.|@|(?<=\b(?:javascript|data|mailto|vbscript)):/gi,
      (sign) => ENTITY[sign] ?? sign,
    )
    .replace(/^(\d+)([.)])(?=\s|$)/, '$1\\$2')
    .replace(/^[-+=](?=\s|[-=]|$)/, '\\$&')
}

/** As numbers of letters: shown as the sign, but part of no address. */
const ENTITY: Readonly<Record<string, string>> = { ':': '&#58;', '.': '&#46;', '@': '&#64;' }
