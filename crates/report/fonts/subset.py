"""Makes the two WOFF2 files that pages and SVG files carry, and of the same letters what a page's module measures text by, without
their outlines: python3 subset.py, with fonttools and brotli.

Latin letters, figures and the signs in use; kerning kept. The licence reserves the name "Source" for the whole fonts, so that the
subsets have a name of their own.
"""
from fontTools import subset
from fontTools.ttLib import TTFont

CHARACTERS = [*range(0x20, 0x7F), *range(0xA0, 0x180), *map(ord, "−×·…→←↑↓±²³°“”‘’–—∂≤≥ΔΩαβγκμπρστφ•‑")]

for weight in ["Regular", "SemiBold"]:
    options = subset.Options(flavor="woff2", layout_features=["kern"], hinting=False, name_IDs=[0, 1, 2, 13, 14], notdef_outline=True)
    font = TTFont(f"SourceSans3-{weight}.ttf", recalcTimestamp=False)
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=CHARACTERS)
    cutter.subset(font)
    for record in font["name"].names:
        if record.nameID == 1:
            record.string = "Unladen Sans"
    font.flavor = "woff2"
    font.save(f"UnladenSans-{weight}.woff2")
    font.flavor = None
    for table in ["glyf", "loca", "gasp", "name", "post", "OS/2", "STAT", "DSIG", "meta"]:
        if table in font:
            del font[table]
    font.save(f"UnladenSans-{weight}.metrics.ttf")
