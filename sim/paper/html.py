"""HTML that stands alone: one page with a title, tables with captions, drawings with words."""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Collection, Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING

from firstthrow.sim.paper.drawn import plt

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SHEET = """
body { font: 16px/1.5 "DejaVu Sans", Verdana, sans-serif; color: #222; background: #fff;
  max-width: 62rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: 0 0 .5rem; }
h2 { font-size: 1.25rem; margin: 2.4rem 0 .5rem; border-bottom: 2px solid #0072B2; }
h3 { font-size: 1.05rem; margin: 1.6rem 0 .3rem; }
p, li { max-width: 46rem; }
.lead { font-size: 1.1rem; border-left: 5px solid #0072B2; padding-left: .8rem; }
.caution { border-left: 5px solid #D55E00; padding-left: .8rem; }
table { border-collapse: collapse; margin: .6rem 0 1.2rem; font-size: .85rem; width: 100%; }
caption { text-align: left; font-weight: bold; padding: .3rem 0; }
th, td { padding: .2rem .6rem .2rem 0; border-bottom: 1px solid #ddd; text-align: left;
  vertical-align: top; font-weight: normal; }
thead th { font-weight: bold; border-bottom: 2px solid #999; }
th[rowspan] { width: 45%; }
.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
.miss td { color: #a33c00; }
small { color: #555; }
figure { margin: .8rem 0; } figcaption { font-size: .85rem; color: #444; max-width: 46rem; }
figure.side { display: inline-block; width: 48%; min-width: 20rem; vertical-align: top; }
svg, img { max-width: 100%; height: auto; }
pre { background: #f4f4f2; padding: .6rem .8rem; overflow-x: auto; font-size: .7rem;
  line-height: 1.35; }
code { font-family: "DejaVu Sans Mono", Consolas, monospace; }
@media print { body { font-size: 9pt; max-width: none; margin: 0; } figure, pre, tr {
  break-inside: avoid; } h2, h3, caption { break-after: avoid; } pre { white-space: pre-wrap; } }
"""


def document(title: str, parts: Iterable[str], lang: str = "en") -> str:
    """A whole page; `parts` are HTML already."""
    head = (
        '<meta charset="utf-8"><meta name="viewport" content="width=device-width, '
        f'initial-scale=1"><title>{escape(title)}</title><style>{SHEET}</style>'
    )
    body = "\n".join([f"<h1>{escape(title)}</h1>", *parts])
    return (
        f'<!DOCTYPE html>\n<html lang="{lang}"><head>{head}</head>\n'
        f"<body><main>\n{body}\n</main></body></html>\n"
    )


def heading(words: str, level: int = 2) -> str:
    return f"<h{level}>{escape(words)}</h{level}>"


def paragraph(words: str, kind: str = "") -> str:
    """Words of a paragraph; `code` in backticks."""
    return f"<p{_class(kind)}>{marked(words)}</p>"


def listed(items: Iterable[str]) -> str:
    return "<ul>" + "".join(f"<li>{marked(item)}</li>" for item in items) + "</ul>"


def marked(words: str) -> str:
    """Escaped, with what stands in backticks as code."""
    return re.sub(r"`([^`]+)`", r"<code>\1</code>", escape(words, quote=False))


def preformatted(text: str) -> str:
    return f"<pre><code>{escape(text.rstrip(), quote=False)}</code></pre>"


def table(
    caption: str,
    head: Sequence[str],
    rows: Iterable[Sequence[str | None]],
    numbers: Collection[int] = (),
    kinds: Sequence[str] = (),
) -> str:
    """Cells are text, but for those that begin with `<th`, which are HTML, and None, which one
    above covers; `numbers` are columns set to the right, `kinds` classes of the rows. The first
    cell of a row heads it."""
    said = "".join(
        f'<th scope="col"{_class("n" if k in numbers else "")}>{escape(cell)}</th>'
        for k, cell in enumerate(head)
    )
    body = []
    for number, row in enumerate(rows):
        cells = []
        for k, cell in enumerate(row):
            if cell is None or cell.startswith("<th"):
                cells.append(cell or "")
                continue
            kind, tag = _class("n" if k in numbers else ""), "td" if k else 'th scope="row"'
            cells.append(f"<{tag}{kind}>{escape(cell)}</{tag[:2]}>")
        body.append(f"<tr{_class(kinds[number] if kinds else '')}>{''.join(cells)}</tr>")
    return (
        f"<table><caption>{escape(caption)}</caption><thead><tr>{said}</tr></thead>"
        f"<tbody>{''.join(body)}</tbody></table>"
    )


def _class(kind: str) -> str:
    return f' class="{kind}"' if kind else ""


def drawing(figure: Figure, words: str, caption: str = "", side: bool = False) -> str:
    """A matplotlib figure inline, closed afterwards; `words` say what one sees in it."""
    file = io.StringIO()
    try:
        with plt.rc_context({"svg.hashsalt": words}):
            figure.savefig(file, format="svg", metadata={"Date": None})
    finally:
        plt.close(figure)
    return framed(svg(file.getvalue(), words), caption, side)


def svg(text: str, words: str) -> str:
    """An SVG file's text as it stands in a page: one image with words, no names of its parts."""
    inner = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    inner = re.sub(r' id="[a-zA-Z.]+\d*_\d+"', "", inner)
    label = escape(words)
    return inner.replace("<svg", f'<svg role="img" aria-label="{label}"', 1)


def photograph(data: bytes, kind: str, words: str, caption: str = "", side: bool = False) -> str:
    """A picture's file inline: `kind` is png or jpeg."""
    held = base64.b64encode(data).decode("ascii")
    image = f'<img src="data:image/{kind};base64,{held}" alt="{escape(words)}">'
    return framed(image, caption, side)


def framed(inner: str, caption: str, side: bool = False) -> str:
    told = f"<figcaption>{marked(caption)}</figcaption>" if caption else ""
    return f"<figure{_class('side' if side else '')}>{inner}{told}</figure>"
