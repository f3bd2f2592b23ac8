"""Make the files of letters anew of the fonts that come with matplotlib."""

from __future__ import annotations

from pathlib import Path

import matplotlib
from fontTools import subset

from rearlog.charts.fonts import FACES

FOLDER = Path(__file__).parent
LETTERS = [*range(0x20, 0x7F), *range(0xA0, 0x180), 0x1E9E]
SIGNS = "–—‘’“”„‚…‰′″€→←↑↓≈≠≤≥−×·°±√∞½¼¾✓✗▷◁△▽○●□■♀♂ₓ"


def main(folder: Path = FOLDER) -> None:
    """Write the files into a folder, beside this module unless it is told."""
    options = subset.Options(flavor="woff", hinting=False, layout_features=[], name_IDs=[0, 13, 14])
    options.drop_tables += ["FFTM"]
    for face in FACES:
        source = Path(matplotlib.get_data_path(), "fonts", "ttf", f"{face.file}.ttf")
        with subset.load_font(str(source), options) as font:
            chosen = subset.Subsetter(options)
            chosen.populate(unicodes=LETTERS, text=SIGNS)
            chosen.subset(font)
            subset.save_font(font, str(folder / f"{face.file}.woff"), options)


if __name__ == "__main__":
    main()
