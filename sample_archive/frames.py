# ruff: noqa: E501  (a frame is a row of a table and stands on one line)
"""Every scan of the sample: which sheet it is of, what stood before the camera and in what light, who scanned it when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from . import scenes
from .scenes import Scene


@dataclass(frozen=True, slots=True)
class Frame:
    """
    One scan. ``number`` is the sheet's, as its card has it; ``day`` and ``hour`` (true solar) give the sun.

    The day is the drawing's own truth; the cards know less. ``also`` is the second scene of a double exposure.
    """

    path: str
    number: str
    scene: Scene | None
    day: date
    hour: float
    focal_length_mm: float
    film: str = "pan100"
    power: float = 1.0
    stops: float = 0.0
    also: Scene | None = None
    is_reversed: bool = False
    scanned: str = "2007:02:11 10:20:00"
    shift_px: tuple[int, int] = (0, 0)
    ink: str = ""
    """What is written on the rebate, where that is not the number."""


OVERCAST = 0.22
BOARDS, METAL, RESTORED = scenes.osk_mill("boards"), scenes.osk_mill("metal"), scenes.osk_mill("restored")

FRAMES: tuple[Frame, ...] = (
    # Osk
    Frame("1974/74-02.tif", "74-02", scenes.osk_mill("boards", "E"), date(1974, 7, 21), 9.5, 105, "roll"),
    Frame("1974/74-03.tif", "74-03", BOARDS, date(1974, 7, 21), 11.0, 105, "roll"),
    Frame("1975/75-06 reading room.tif", "75-06", scenes.READING_ROOM, date(1975, 5, 17), 9.0, 105, "roll"),
    Frame("1975/75-07.tif", "75-07", scenes.OSK_GRANARY, date(1975, 5, 17), 13.5, 105, "roll"),
    Frame("1978/78-14.tif", "78-14", BOARDS, date(1978, 6, 4), 14.3, 150, scanned="2006:03:04 14:12:31"),
    Frame("1978/78-15.tif", "78-15", BOARDS, date(1978, 6, 4), 14.3, 150, stops=1.0, scanned="2006:03:04 14:19:02"),
    Frame("1978/78-16.tif", "78-16", BOARDS, date(1978, 6, 4), 14.4, 150, stops=2.0, scanned="2006:03:04 14:26:44"),
    Frame("1978/78-17 mill or granary.tif", "78-17", scenes.osk_mill("boards", "W"), date(1978, 10, 8), 15.5, 120),
    Frame("1979/79-21.tif", "79-21", scenes.osk_mill("boards", "E"), date(1979, 8, 18), 9.2, 150, "pan400"),
    Frame("1979/79_022.tif", "79-22", scenes.OSK_GRANARY, date(1979, 8, 18), 14.5, 90, "pan400"),
    Frame("1980/80-05 double.tif", "80-05", scenes.osk_mill("boards", "E", "winter"), date(1980, 2, 16), 9.8, 90, "pan400", also=scenes.READING_ROOM, stops=-0.6),
    Frame("1982/82-07.tif", "82-07", METAL, date(1982, 7, 9), 14.3, 150, scanned="2006:03:11 09:40:10"),
    Frame("1982/osk mill 82-07 scan2.tif", "82-07", METAL, date(1982, 7, 9), 14.3, 150, scanned="2015:10:02 16:05:55", shift_px=(7, -4)),
    Frame("1982/82-08 colour.tif", "82-08", METAL, date(1982, 7, 9), 14.4, 150, "colour"),
    Frame("1982/82-09.tif", "82-09", None, date(1982, 7, 9), 15.0, 210),
    Frame("1984/84-02.tif", "84-02", scenes.READING_ROOM, date(1984, 4, 29), 9.4, 90),
    Frame("1987/87-03.tif", "87-03", METAL, date(1987, 6, 14), 14.3, 150, scanned="2006:03:18 11:00:27"),
    Frame("1990/90-04.tif", "90-04", scenes.osk_mill("metal", "E"), date(1990, 5, 20), 9.0, 210),
    Frame("1996/96-08.tif", "96-08", RESTORED, date(1996, 9, 14), 13.6, 150, scanned="2006:04:01 15:31:09"),
    Frame("2008/08-11.tif", "08-11", RESTORED, date(2008, 6, 4), 14.3, 150, scanned="2008:07:12 10:14:48"),
    Frame("loose/X3 osk mill.tif", "X3", scenes.osk_mill("metal", trees="winter"), date(1985, 2, 3), 12.0, 150, power=OVERCAST),
    Frame("loose/X4.tif", "X4", scenes.OSK_GRANARY, date(1980, 9, 3), 12.0, 120, power=OVERCAST),
    # Tarn End
    Frame("1975/75-08.tif", "75-08", scenes.tarn_end_mill(1975), date(1975, 5, 18), 11.5, 105, "roll"),
    Frame("1979/1979_031.tif", "79-31", scenes.tarn_end_mill(1979, "E"), date(1979, 10, 21), 9.6, 150),
    Frame("1979/79_032.tif", "79-32", scenes.BARN, date(1979, 10, 21), 13.4, 150),
    Frame("1985/85-09 snow.tif", "85-09", scenes.tarn_end_mill(1985), date(1985, 3, 22), 12.5, 90, "pan400", power=0.8),
    Frame("1989/89-01.tif", "89-01", scenes.tarn_end_mill(1989), date(1989, 6, 4), 10.4, 150),
    # the Bromes
    Frame("1976/76-04 brome hall.tif", "76-04", scenes.brome_hall("E"), date(1976, 4, 12), 9.8, 150),
    Frame("1976/76-05.tif", "76-05", scenes.brome_hall("N"), date(1976, 4, 12), 12.0, 90),
    Frame("1981/81-02 int.tif", "81-02", scenes.BROME_HALL_INSIDE, date(1981, 1, 17), 12.0, 90, "pan400", power=0.0),
    Frame("1983/83-12.tif", "83-12", scenes.BROME_MILL, date(1983, 8, 7), 15.6, 210),
    Frame("1994/94-02.tif", "94-02", scenes.brome_hall("E"), date(1994, 5, 21), 8.6, 150),
    Frame("2005/05-03 trans.tif", "05-03", scenes.brome_hall("E"), date(2005, 5, 14), 9.6, 150, "chrome"),
    Frame("1977/77-09.tif", "77-09", scenes.STADDLE_GRANARY, date(1977, 10, 15), 13.0, 120),
    Frame("1977/77-10.tif", "77-10", scenes.STADDLE_GRANARY, date(1977, 10, 15), 10.2, 120),
    Frame("1988/88-06.tif", "88-06", scenes.OVER_BROME_MILL, date(1988, 6, 11), 13.8, 150),
    # Low Halding and Halding
    Frame("1978/78-30.tif", "78-30", scenes.weigh_house("road"), date(1978, 11, 12), 12.6, 150),
    Frame("1979/79-09.tif", "79-09", scenes.weigh_house("road"), date(1979, 4, 22), 14.8, 150),
    Frame("1979/79-10.tif", "79-10", scenes.weigh_house("road", "E"), date(1979, 4, 22), 9.4, 90, is_reversed=True),
    Frame("1979/79-12 institute.tif", "79-12", scenes.INSTITUTE, date(1979, 5, 6), 13.2, 90),
    Frame("1977/77-02.tif", "77-02", scenes.TOLL_HOUSE, date(1977, 3, 13), 12.0, 90, power=OVERCAST),
    Frame("1979/79-40.tif", "79-40", scenes.weigh_house("museum"), date(1979, 9, 9), 13.9, 120),
    Frame("1980/80-12 colour.tif", "80-12", scenes.weigh_house("museum"), date(1980, 7, 6), 11.0, 150, "colour"),
    Frame("1985/85-14.tif", "85-14", scenes.town_mill(1985), date(1985, 7, 28), 13.4, 210),
    Frame("2010/10-02.tif", "10-02", scenes.town_mill(2010), date(2010, 3, 20), 12.8, 150, scanned="2010:05:30 17:22:03"),
    Frame("loose/X9.tif", "X9", scenes.TOLL_HOUSE, date(1983, 6, 19), 7.5, 90),
    # the two Priors Lodes
    Frame("1977/77-15.tif", "77-15", scenes.priors_lode_granary("standing"), date(1977, 7, 17), 15.4, 150),
    Frame("1984/84-20.tif", "84-20", scenes.priors_lode_granary("standing"), date(1984, 8, 5), 16.2, 150),
    Frame("1988/88-20 after the fire.tif", "88-20", scenes.priors_lode_granary("burned"), date(1988, 11, 6), 13.0, 150, "pan400", power=OVERCAST),
    Frame("1989/89-05.tif", "89-05", scenes.priors_lode_granary("gone"), date(1989, 9, 17), 14.5, 150),
    Frame("1991/91-06.tif", "91-06", scenes.lode_mill(), date(1991, 6, 23), 11.2, 150),
    Frame("1991/91-07.tif", "91-07", scenes.lode_mill("E"), date(1991, 6, 23), 9.0, 150),
    # Wennmouth
    Frame("box 78/78-14 ferry.tif", "78-14", scenes.ferry_house(1991), date(1991, 8, 11), 10.8, 150),
    Frame("1983/83-01.tif", "83-01", scenes.ferry_house(1983, "E"), date(1983, 4, 3), 9.6, 90, "pan400"),
    Frame("1986/86-15.tif", "86-15", scenes.quay_weigh_house(1986), date(1986, 10, 14), 15.0, 120),
    Frame("1993/93-03.tif", "93-03", scenes.ferry_house(1993), date(1993, 9, 5), 13.5, 150),
    Frame("1998/98-02.tif", "98-02", scenes.quay_weigh_house(1998), date(1998, 5, 16), 15.8, 150),
    Frame("2012/12-05 trans.tif", "12-05", scenes.ferry_house(2012), date(2012, 5, 12), 11.6, 150, "chrome", scanned="2012:06:20 12:11:00"),
    Frame("2021/21-01.tif", "21-01", scenes.ferry_house(2021), date(2021, 9, 18), 13.0, 150, scanned="2021:10:09 09:30:12"),
    # A copy of somebody's old view, the wheel still on: it has no card and no number.
    Frame("loose/old view with wheel (copy neg).tif", "", scenes.osk_mill("wheel"), date(1911, 6, 1), 14.0, 150, scanned="2009:01:17 20:45:00", ink="copy"),
)  # fmt: skip

FULL_SIZE = Frame("84-20 full size.tif", "84-20", scenes.priors_lode_granary("standing"), date(1984, 8, 5), 16.2, 150)

SMALL = ("78-14.tif", "82-08 colour.tif", "82-09.tif", "79-10.tif", "88-20 after the fire.tif", "74-03.tif")
"""The six that are kept as small files: mill, colour, blank, wrong side up, after the fire, roll film."""
