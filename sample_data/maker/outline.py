"""Where things lie in Sourwood Hollow, an invented hill farm: sketch points and owner's answers.

All points are metres from an invented corner, x to the east and y to the north. Nothing here is
the plan of a real farm.
"""

CRS = "EPSG:32616"
CORNER = (612_400.0, 4_021_600.0)  # invented place of the sketch's origin, easting and northing
ACRES = 74.0  # the sketch is scaled so that the property has this size
M2_PER_ACRE = 4046.8564224

PROPERTY = [
    (0, 20), (160, 8), (330, 2), (500, 10), (660, 28), (668, 180), (655, 330), (662, 455),
    (520, 478), (360, 468), (300, 492), (150, 486), (20, 470), (8, 300), (-4, 150),
]  # fmt: skip

VERGE = [(-20, 36), (160, 22), (330, 16), (500, 24), (690, 44)]
COUNTY_ROAD = [
    (-420, 45), (-160, 24), (0, 9), (160, -3), (330, -9), (500, -1), (660, 17), (860, 46),
    (1080, 80),
]  # fmt: skip
CREEK = [
    (640, 640), (604, 545), (578, 474), (556, 436), (504, 408), (462, 366), (408, 342), (374, 298),
    (330, 262), (262, 244), (205, 200), (140, 184), (80, 146), (0, 132), (-120, 104), (-260, 108),
]  # fmt: skip
FARM_ROAD = [
    (392, -8), (392, 20), (399, 70), (405, 120), (400, 170), (382, 215), (360, 254), (340, 288),
    (322, 318), (290, 350), (252, 386), (216, 430), (186, 462), (176, 500),
]  # fmt: skip
FARM_ROAD_END = 462.0  # the track stops here; the block line it follows goes on to the fence
TRAILS = [
    [(252, 386), (170, 372), (104, 342), (62, 286), (50, 214)],
    [(322, 318), (372, 368), (404, 410), (470, 440)],
]
YARD = [(393, -4), (398, 60), (404, 118), (402, 164), (452, 174), (516, 160), (522, 96), (518, 4)]
POND = [
    (284, 216), (296, 209), (312, 211), (327, 221), (330, 232), (318, 240), (302, 238), (288, 229),
]  # fmt: skip

# Lines that cut the farm into blocks; where one crosses another, the rest is cut off.
CUTS = [
    [(128, 0), (136, 60), (121, 120), (141, 206)],
    [(252, 0), (263, 60), (249, 112), (262, 168), (254, 262)],
    [(240, 116), (290, 122), (330, 106), (412, 126)],
    [(496, 146), (520, 162), (558, 172), (600, 182), (700, 174)],
    [(500, 146), (513, 190), (516, 240), (494, 322), (522, 430)],
    [(490, 304), (545, 296), (590, 312), (700, 302)],
    [(-20, 304), (80, 316), (170, 288), (240, 304), (298, 352)],
    [(136, 150), (150, 220), (138, 306)],
    [(116, 290), (128, 350), (106, 420), (118, 505)],
]

# block_id, name, a point in it, goal, brush, ground, wet, stock, hay, ready_year, priority, notes
BLOCKS = [
    ("1", "Road field", (60, 85), "pasture", "brushy", "flat", "dry", "beef", "no", 2028, 4,
     "sprouts come in from the road bank"),
    ("2", "Long pasture", (190, 90), "pasture", "open", "rolling", "dry", "beef", "yes", 2027, 5,
     None),
    ("3", "Barn field", (320, 60), "pasture", "open", "flat", "dry", "horses", "yes", 2027, 5,
     None),
    ("4", "Pond piece", (330, 165), "silvopasture", "brushy", "rolling", "seasonal", "beef", "no",
     2029, 3, "soft below the pond until May"),
    ("5", "Old orchard", (590, 100), "pasture", "thicket", "rolling", "dry", "none", "no", 2030, 3,
     "power line over the corner"),
    ("6", "Spring hollow", (450, 250), "silvopasture", "brushy", "steep", "seasonal",
     "sheep_goats", "no", 2029, 2, None),
    ("7", "Sawmill flat", (590, 240), "silvopasture", "thicket", "flat", "dry", "none", "no", 2030,
     3, "neighbor grows corn and beans over the fence"),
    ("8", "East knob", (590, 370), "woodland", "brushy", "steep", "dry", "none", "no", None, 2,
     None),
    ("9", "North slope", (330, 420), "woodland", "brushy", "steep", "dry", "none", "no", None, 2,
     None),
    ("10", "Fern woods", (220, 275), "woodland", "open", "rolling", "seasonal", "none", "no", None,
     3, "good oaks, keep the ground quiet"),
    ("11", "Creek bottom", (60, 225), "woodland", "thicket", "flat", "wet", "none", "no", None, 1,
     "stands in water some springs"),
    ("12", "Chestnut bench", (190, 400), "woodland", "open", "rolling", "dry", "none", "no", None,
     3, None),
    ("13", "Line woods", (60, 400), "woodland", "open", "steep", "dry", "none", "no", None, 2,
     "the west line is not fenced"),
]  # fmt: skip

HOUSE = ((436, 84), 15.0, 10.0, 12.0)  # middle, length m, width m, turn in degrees
BARN = ((466, 132), 24.0, 13.0, -18.0)
WELL = (421, 104)
GATES = [(392.2, 18), (400.5, 166)]
POWER_LINE = [(760, 190), (528, -40), (404, -163)]
NEIGHBOUR_TREES = [(-7, 236), (669, 262)]
CROP = [(672, 190), (661, 330), (668, 452), (668, 640), (900, 640), (900, 230), (760, 186)]
FENCES = [
    [(2, 33), (160, 21), (330, 15), (386, 17)],
    [(402, 164), (452, 174), (516, 160), (558, 172), (600, 182), (666, 176)],
    [(668, 182), (656, 330), (662, 452)],
    [(252, 18), (263, 60), (249, 112), (262, 168), (256, 226)],
    [(522, 24), (525, 96), (519, 162)],
]
