"""Draws the demo's photos and prints its invoices, from the story's own figures.

    .venv/bin/python demo_fixtures/draw.py

The results lie beside this file. Run it again after a figure of an invoice changed.
"""

import math
from collections.abc import Callable, Iterator
from html import escape
from pathlib import Path

import numpy as np
import weasyprint
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from maintenance.library.reading import load_library
from maintenance.pages.demo.story import RigStory, Story, WorkStory, read_story

FOLDER = Path(__file__).parent
SIZE = (1200, 900)
Point = tuple[float, float]


# --- photos ---------------------------------------------------------------------------


def ring(center: Point, radius: float) -> tuple[float, float, float, float]:
    x, y = center
    return x - radius, y - radius, x + radius, y + radius


def around(center: Point, radius: float, count: int, turn: float = 0) -> list[Point]:
    angles = (turn + 2 * math.pi * n / count for n in range(count))
    x, y = center
    return [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles]


def words(draw: ImageDraw.ImageDraw, at: Point, text: str, size: int, fill: str):
    font = ImageFont.truetype("DejaVuSans-Bold.ttf", size)
    draw.text(at, text, fill=fill, font=font, anchor="mm")


def wheel(draw: ImageDraw.ImageDraw, marks: str) -> None:
    """A wheel from the side; a stripe of paint over each nut, `marks` says which moved:
    "-" in line, "/" turned."""
    center = (600, 450)
    draw.rectangle((0, 0, *SIZE), fill="#3a3a37")
    draw.rectangle((0, 0, 1200, 300), fill="#8d9a97")
    draw.rectangle((0, 760, 1200, 900), fill="#6c645b")
    for radius, color in ((400, "#22221f"), (370, "#2d2c29"), (265, "#c3c4bf")):
        draw.ellipse(ring(center, radius), fill=color)
    for hole in around(center, 205, 8, 0.2):
        draw.ellipse(ring(hole, 30), fill="#4a4a46")
    draw.ellipse(ring(center, 60), fill="#7d7e79")
    for mark, nut in zip(marks, around(center, 120, len(marks)), strict=True):
        draw.polygon(around(nut, 27, 6), fill="#8a8b86", outline="#54544f")
        turn = math.atan2(nut[1] - 450, nut[0] - 600) + (0.5 if mark == "/" else 0)
        x, y = 40 * math.cos(turn), 40 * math.sin(turn)
        ends = ((nut[0] - x, nut[1] - y), (nut[0] + x, nut[1] + y))
        draw.line(ends, fill="#e6b91e", width=9)


def wheel_after_service(draw: ImageDraw.ImageDraw) -> None:
    wheel(draw, "--------")


def wheel_right_rear(draw: ImageDraw.ImageDraw) -> None:
    wheel(draw, "---/----")


def tire_date_code(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#2b2a28")
    for n in range(14):
        radius = 900 + 46 * n
        draw.ellipse(ring((600, 1500), radius), outline="#35332f", width=16)
    draw.rounded_rectangle((330, 380, 890, 520), 60, fill="#33312d", outline="#4b4842")
    words(draw, (610, 450), "WEEK  ••  YEAR  ••", 46, "#7a766d")
    words(draw, (600, 640), "LOAD RANGE AS ON THE PLACARD", 34, "#5d5a53")


def chassis_battery(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#77736b")
    draw.rounded_rectangle((260, 300, 940, 760), 24, fill="#26272a")
    draw.rectangle((260, 300, 940, 380), fill="#3a3b3f")
    for x, color, sign in ((380, "#a62c22", "+"), (820, "#1f1f21", "-")):
        draw.ellipse(ring((x, 340), 46), fill="#b9b6ad")
        draw.rounded_rectangle((x - 70, 210, x + 70, 330), 18, fill=color)
        words(draw, (x, 265), sign, 60, "#f2efe6")
    draw.rectangle((220, 430, 980, 480), fill="#8d8a80")
    draw.rounded_rectangle((430, 540, 770, 700), 12, fill="#c9cdb5")
    words(draw, (600, 620), "12.71 V", 76, "#22251b")


def anode_rod(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#b8b1a2")
    for x in range(0, 1200, 60):
        draw.line((x, 0, x - 260, 900), fill="#b0a898", width=3)
    draw.rounded_rectangle((120, 300, 1080, 380), 36, fill="#a3a49f")
    draw.polygon(around((140, 340), 74, 6), fill="#8a7a55", outline="#5d5136")
    draw.rounded_rectangle((120, 560, 1010, 576), 6, fill="#87857c")
    for n, x in enumerate(range(210, 1000, 44)):
        high = 9 + (n * 29) % 17
        draw.ellipse((x - 34, 568 - high, x + 34, 568 + high), fill="#9b988d")
    draw.polygon(around((140, 568), 74, 6), fill="#8a7a55", outline="#5d5136")
    words(draw, (600, 230), "new", 40, "#4d483d")
    words(draw, (600, 680), "after a year", 40, "#4d483d")


def roof(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#d9d6cc")
    for n in range(9):
        draw.line((0, 100 * n, 1200, 100 * n + 14), fill="#cfcbc0", width=5)


def roof_front_seam(draw: ImageDraw.ImageDraw) -> None:
    roof(draw)
    draw.rectangle((0, 0, 1200, 250), fill="#b4b5b3")
    draw.rectangle((0, 250, 1200, 318), fill="#e9e6dc")
    for x in range(30, 1200, 95):
        draw.ellipse(ring((x, 284), 13), fill="#cdc9be", outline="#a7a398")
    crack = [(430, 300), (470, 282), (520, 296), (575, 276), (640, 294), (700, 283)]
    draw.line(crack, fill="#3b362d", width=9, joint="curve")
    draw.line([(x, y + 9) for x, y in crack], fill="#948c7c", width=4)
    draw.rectangle((420, 380, 720, 430), fill="#e3c24f")
    for n in range(13):
        tall = 34 if n % 4 == 0 else 20
        draw.line(
            (432 + 23 * n, 380, 432 + 23 * n, 380 + tall), fill="#4a3c12", width=4
        )


def roof_vent_hail(draw: ImageDraw.ImageDraw) -> None:
    roof(draw)
    draw.rounded_rectangle((310, 190, 890, 730), 40, fill="#efeee8", outline="#b9b6ab")
    draw.rounded_rectangle((360, 240, 840, 680), 30, fill="#f7f6f1", outline="#cbc8be")
    hit = (655, 420)
    for n, end in enumerate(around(hit, 190, 7, 0.3)):
        bend = (
            hit[0] + 0.5 * (end[0] - hit[0]) + 18 * (n % 3 - 1),
            (hit[1] + end[1]) / 2,
        )
        draw.line((hit, bend, end), fill="#5a564c", width=6)
    draw.polygon(around(hit, 36, 9, 0.1), fill="#3c3932")
    for n in range(24):
        spot = (90 + (n * 347) % 1040, 60 + (n * 211) % 790)
        draw.ellipse(ring(spot, 9 + n % 7), fill="#e9f0f3", outline="#b7c3c9")


def campervan_odometer(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#1c1d1f")
    for x, top in ((350, 8), (850, 12)):
        draw.ellipse(ring((x, 400), 260), fill="#101113", outline="#54565a", width=10)
        for n, tick in enumerate(around((x, 400), 220, 36, 2.36)):
            if n < 28:
                inner = around((x, 400), 190 if n % 3 else 170, 36, 2.36)[n]
                draw.line((tick, inner), fill="#d7d8d2", width=6)
        needle = around((x, 400), 180, 36, 2.36)[0 if top == 8 else 2]
        draw.line(((x, 400), needle), fill="#d4522b", width=12)
        draw.ellipse(ring((x, 400), 28), fill="#3a3b3f")
    draw.rounded_rectangle((420, 700, 780, 800), 14, fill="#b9c7a4")
    words(draw, (600, 750), "000003 mi", 58, "#1d2415")


def air_filter(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#8b8f93")
    for left, fold, frame in ((90, "#9a7a4d", "#2b2b2b"), (640, "#ece7da", "#2b2b2b")):
        draw.rounded_rectangle((left, 180, left + 470, 740), 24, fill=frame)
        for n in range(19):
            x = left + 30 + 22 * n
            draw.rectangle((x, 210, x + 12, 710), fill=fold)
    words(draw, (325, 810), "out", 44, "#2b2b2b")
    words(draw, (875, 810), "in", 44, "#2b2b2b")


def spot_water_pump(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#6d5a44")
    draw.rectangle((120, 140, 1080, 800), fill="#3c332a")
    draw.rounded_rectangle((330, 380, 820, 640), 40, fill="#2b2d30")
    draw.ellipse(ring((870, 510), 120), fill="#c9ccd0", outline="#8d9196", width=8)
    draw.rectangle((180, 470, 330, 530), fill="#cfe0e6")
    draw.rectangle((840, 240, 900, 400), fill="#cfe0e6")
    words(draw, (575, 510), "12 V", 56, "#e9e6dc")


def snap_receipt(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#7a5f45")
    draw.polygon([(380, 60), (840, 100), (800, 860), (340, 820)], fill="#f1efe8")
    lines = ("THE PARTS COUNTER", "wiper blade  2", "fuse set  1", "sum  $ 41.20")
    for n, text in enumerate(lines):
        words(draw, (600 - 6 * n, 210 + 130 * n), text, 34, "#4b4a46")


def snap_step_bolt(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#9b9488")
    draw.rectangle((0, 330, 1200, 620), fill="#41403d")
    for x, color in ((300, "#8a8b86"), (900, "#7b4a2c")):
        draw.ellipse(ring((x, 475), 95), fill="#2d2c29")
        draw.polygon(around((x, 475), 70, 6), fill=color, outline="#2b2b2b")
    draw.line([(900, 570), (930, 700), (915, 830)], fill="#7b4a2c", width=16)


def placard_pickup(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#54585c")
    draw.rectangle((140, 150, 1060, 760), fill="#f4f2ea", outline="#1d1d1d", width=8)
    rows = (
        "TIRE AND LOADING INFORMATION",
        "people and cargo: 2,150 lb   seats 5",
        "FRONT   LT, load range E   60 psi",
        "REAR    LT, load range E   80 psi",
        "SPARE   as rear",
    )
    for n, text in enumerate(rows):
        words(draw, (600, 230 + 115 * n), text, 38, "#1d1d1d")


def radiator_fins(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle((0, 0, *SIZE), fill="#2f3133")
    for n in range(60):
        bent = 14 if 20 < n < 33 else 0
        x = 20 * n
        draw.line([(x, 80), (x + bent, 450), (x, 820)], fill="#a9adb1", width=6)
    for point in ((420, 300), (510, 520), (610, 430), (700, 600), (830, 260)):
        draw.ellipse(ring(point, 26), fill="#5b4a22")


GROUND = [(1200, 900), (0, 900)]


def bramble_at_the_ridge(draw: ImageDraw.ImageDraw) -> None:
    """The motorhome from its door side, on sand below a ridge."""
    draw.rectangle((0, 0, *SIZE), fill="#d5e1e6")
    draw.ellipse(ring((950, 190), 85), fill="#f2c437")
    far = [(0, 520), (200, 330), (360, 470), (560, 250), (760, 470), (960, 330)]
    draw.polygon([*far, (1200, 510), *GROUND], fill="#8fa08a")
    near = [(0, 590), (300, 490), (620, 580), (950, 480), (1200, 560)]
    draw.polygon([*near, *GROUND], fill="#5f7059")
    draw.rectangle((0, 690, *SIZE), fill="#c9b48e")
    draw.ellipse((210, 730, 1030, 790), fill="#a28f6c")
    cab = [(775, 480), (865, 480), (925, 545), (1000, 562), (1012, 590), (1012, 640)]
    body = [(200, 400), (230, 365), (900, 365), (960, 400), (975, 470), *cab]
    body += [(1012, 660), (200, 660)]
    draw.polygon(body, fill="#f3f2ec", outline="#2b2e29", width=5)
    draw.polygon([(795, 495), (862, 495), (908, 545), (795, 545)], fill="#8ba5af")
    draw.polygon([(885, 400), (935, 405), (952, 445), (885, 445)], fill="#8ba5af")
    for left, right in ((255, 345), (440, 580)):
        draw.rounded_rectangle((left, 420, right, 480), 8, fill="#8ba5af")
    draw.rectangle((675, 415, 745, 650), outline="#2b2e29", width=4)
    draw.rectangle((690, 430, 730, 485), fill="#8ba5af")
    draw.rectangle((202, 520, 1000, 532), fill="#7a4a22")
    draw.rounded_rectangle((470, 340, 580, 366), 6, fill="#dcdbd3")
    draw.rounded_rectangle((400, 378, 760, 396), 6, fill="#dcdbd3")
    draw.rectangle((996, 596, 1012, 618), fill="#f2c437")
    for x in (385, 905):
        draw.ellipse(ring((x, 682), 66), fill="#22221f")
        draw.ellipse(ring((x, 682), 36), fill="#c3c4bf")
        draw.ellipse(ring((x, 682), 11), fill="#54544f")


PHOTOS: dict[str, Callable[[ImageDraw.ImageDraw], None]] = {
    "air-filter": air_filter,
    "anode-rod": anode_rod,
    "bramble-at-the-ridge": bramble_at_the_ridge,
    "campervan-odometer": campervan_odometer,
    "chassis-battery": chassis_battery,
    "placard-pickup": placard_pickup,
    "radiator-fins": radiator_fins,
    "roof-front-seam": roof_front_seam,
    "roof-vent-hail": roof_vent_hail,
    "snap-receipt": snap_receipt,
    "snap-step-bolt": snap_step_bolt,
    "spot-water-pump": spot_water_pump,
    "tire-date-code": tire_date_code,
    "wheel-after-service": wheel_after_service,
    "wheel-right-rear": wheel_right_rear,
}


def photograph(picture: Callable[[ImageDraw.ImageDraw], None]) -> Image.Image:
    """A drawing with the light, the grain and the soft edges of a phone's photo."""
    image = Image.new("RGB", SIZE)
    picture(ImageDraw.Draw(image))
    soft = np.asarray(image.filter(ImageFilter.GaussianBlur(1.6)), dtype=float)
    rows, columns = np.mgrid[0 : SIZE[1], 0 : SIZE[0]]
    light = 1.12 - 0.42 * np.hypot(rows / SIZE[1] - 0.35, columns / SIZE[0] - 0.45)
    grain = np.random.default_rng(4).normal(0, 4, (SIZE[1], SIZE[0], 1))
    lit = np.clip(soft * light[..., None] + grain, 0, 255).astype("uint8")
    return Image.fromarray(lit).resize((800, 600))


# --- invoices -------------------------------------------------------------------------

PAGE = """<!doctype html><html lang="en"><title>{title}</title><style>
@page {{ size: 5.5in 8.5in; margin: 0.6in }}
body {{ font: 10pt/1.5 "DejaVu Serif"; color: #222 }}
h1 {{ font-size: 15pt; margin: 0; border-bottom: 2pt solid #222 }}
p {{ margin: 6pt 0 }} td {{ padding: 3pt 0; border-bottom: .5pt solid #bbb }}
table {{ width: 100%; border-collapse: collapse; margin: 10pt 0 }}
td:last-child {{ text-align: right; white-space: nowrap }}
.sum td {{ font-weight: bold; border-bottom: 1.5pt solid #222 }}
small {{ color: #555 }}</style>
<h1>{shop}</h1><p>Invoice no. {number}<br>for: {rig}{odometer}</p>
<table>{rows}<tr class="sum"><td>Total, paid<td>$ {total:,.2f}</table>
<p>{notes}</p><p><small>Invented for a demonstration. Not a real business.</small></p>
"""


def invoice(story: Story, rig: RigStory, work: WorkStory, number: int) -> bytes:
    amounts = (("Labor", work.labor), ("Parts", work.parts), ("Tax", work.tax))
    rows = [f"<tr><td>{escape(line)}<td>" for line in jobs(story, work)] + [
        f"<tr><td>{escape(one['name'])}, no. {one['number']}<td>$ {one['price']:,.2f}"
        for one in work.used
    ]
    rows += [f"<tr><td>{name}<td>$ {amount:,.2f}" for name, amount in amounts if amount]
    shop = work.shop or work.mobile
    figure = work.wheels.get("figure")
    page = PAGE.format(
        title=f"Invoice {number}",
        shop=escape(shop[0].upper() + shop[1:]),
        number=number,
        rig=escape(rig.name),
        odometer=f", odometer {work.at['odometer']:,}" if "odometer" in work.at else "",
        rows="".join(rows),
        total=work.total,
        notes=f"Wheel nuts tightened to {figure} ft·lbf. Check them again "
        "between 50 and 100 miles."
        if figure
        else "Thank you.",
    )
    return weasyprint.HTML(string=page).write_pdf(
        pdf_identifier=str(number).encode(), full_fonts=False
    )


def jobs(story: Story, work: WorkStory) -> list[str]:
    """What was done, as the record says it."""
    library = load_library().procedures
    keys = [*work.done, *(key for name in work.rounds for key in story.rounds[name])]
    own = [line.title for line in work.lines if line.title]
    return own + [library[key].title for key in keys]


def invoices(story: Story) -> Iterator[tuple[str, RigStory, WorkStory]]:
    for rig in story.rigs:
        for work in rig.works:
            for name in work.proof:
                if name.endswith(".pdf"):
                    yield name, rig, work


# --- manuals --------------------------------------------------------------------------

BOOKS: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "chassis-book": (
        "Chassis book",
        [
            ("What this is", "An invented excerpt, for a demonstration."),
            (
                "Wheels",
                "Wheel nuts: 140 ft·lbf, dry threads, in a star, in three rounds. "
                "Check them again between 50 and 100 miles after a wheel was off.",
            ),
            ("Engine oil", "5 qt with the filter, 5W-20. Every 5,000 miles or a year."),
        ],
    )
}
LEAF = """<section><h1>{head}</h1><p>{text}</p></section>"""


def book(title: str, leaves: list[tuple[str, str]]) -> bytes:
    """A page for each of its leaves."""
    style = "@page { size: 5.5in 8.5in; margin: .8in } section { break-after: page }"
    body = "".join(LEAF.format(head=head, text=text) for head, text in leaves)
    page = f"<html lang=en><title>{title}</title><style>{style}</style>{body}"
    return weasyprint.HTML(string=page).write_pdf(
        pdf_identifier=title.encode(), full_fonts=False
    )


def main() -> None:
    story = read_story(FOLDER)
    for name, picture in PHOTOS.items():
        file = FOLDER / "photos" / f"{name}.jpg"
        photograph(picture).save(file, quality=72, optimize=True)
    for number, (name, rig, work) in enumerate(invoices(story), 1041):
        data = invoice(story, rig, work, number)
        (FOLDER / "invoices" / name).write_bytes(data)
    for name, (title, leaves) in BOOKS.items():
        (FOLDER / "manuals" / f"{name}.pdf").write_bytes(book(title, leaves))


if __name__ == "__main__":
    main()
