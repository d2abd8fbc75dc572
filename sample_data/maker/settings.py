"""The owner's settings of the sample property, in plain words."""

PROPERTY_TOML = """\
# Sourwood Hollow: an invented hill farm, for trying things out. Nobody lives here.

[property]
name = "Sourwood Hollow"
region = "upper_south"
units = "us"                      # acres, inches, gallons
first_year = 2027                 # first year of the plan
years = 8

[targets]
species = ["callery_pear", "tree_of_heaven"]    # what has to go

[crew]
who = "family"                    # family, hired or contractor
people = 2
sawyers = 1                       # how many of them run a saw
days_per_week = 1                 # Saturdays
hours_per_day = 6
wage_per_hour = 18                # own time has a worth, but it does not eat the budget

[contractor]                      # what others would ask, dollars
mowing_per_acre = 85

[money]
budget_per_year = 4500            # dollars that may be spent in a year
carry_over = true                 # what is left over stays for the next year
discount_rate = 0.04
mower_per_hour = 55               # tractor and rotary mower with fuel
oil_per_gal = 14                  # for mixes in oil; the label says which oil
value_per_acre_year = { pasture = 60, silvopasture = 50, woodland = 20 }    # a cleared acre

[[cost_share]]                    # money back after the work, from an invented county program
name = "hill pasture program"
dollars_per_acre = 120
goals = ["pasture", "silvopasture"]
finish_by = 2031-12-31

[strips]
acres = 3                         # about what we can treat in one season

# No [[season]] here: the seasons of the region are used.

# Herbicides. These products and their labels are invented for training. Do not take a rate or
# a limit from here to the field: read the label of the container in your hand. Put its
# registration number and date here, and say confirmed = true once you have read it.

[herbicide.glyphosate_4]
active_ingredient = "glyphosate"
lb_ae_per_gal = 4.0
container_gal = [1.0, 2.5]
price = [38, 82]                  # for one container of each size
on_hand_gal = 1.5
registration = "training only"
date = 2026-03-01
sites = ["pasture", "silvopasture", "woodland", "water_edge"]
methods = ["hack_and_squirt", "cut_and_spray", "foliar"]
limits = { lb_ae_per_acre_year = 8.0, spot_percent = 10, graze_days = 14, hay_days = 14 }
confirmed = true

[herbicide.triclopyr_amine_3]
active_ingredient = "triclopyr amine"
lb_ae_per_gal = 3.0
container_gal = [1.0, 2.5]
price = [74, 168]
on_hand_gal = 0.0
registration = "training only"
date = 2026-03-01
sites = ["pasture", "silvopasture", "woodland"]
methods = ["hack_and_squirt", "cut_and_spray", "foliar"]
limits = { lb_ae_per_acre_year = 2.0, ml_product_per_cut = 0.5, graze_days = 14, hay_days = 14 }
confirmed = true

[herbicide.triclopyr_ester_4]
active_ingredient = "triclopyr ester"
lb_ae_per_gal = 4.0
container_gal = [1.0, 2.5]
price = [92, 205]
on_hand_gal = 0.5
registration = "training only"
date = 2026-03-01
sites = ["pasture", "silvopasture", "woodland"]
methods = ["cut_and_spray", "basal_bark", "foliar"]
limits = { lb_ae_per_acre_year = 2.0, graze_days = 14, hay_days = 14 }
confirmed = true

[herbicide.imazapyr_2]
active_ingredient = "imazapyr"
lb_ae_per_gal = 2.0
container_gal = [1.0, 2.5]
price = [88, 190]
on_hand_gal = 0.0
registration = "training only"
date = 2026-03-01
sites = ["woodland"]
methods = ["hack_and_squirt", "cut_and_spray"]
limits = { lb_ae_per_acre_year = 1.5 }
confirmed = false                 # the label in the barn cannot be read any more

[plan]
done_when = { stems_over_1in = 0, seedlings_per_acre = 40 }
most_products_a_year = 2          # jugs that we want to keep and carry
most_blocks_a_season = 4          # so that we are not all over the place
seed = 1
"""
