"""What the two shipped axles must hold: every operation and every limited characteristic, as literals.

The figures are the shop's own lists for the two demonstration axles (an invented shop).
The sources of single limits stand in the definitions; this table only guards that no row is lost or altered.
"""

# number, station, name, minutes of the Sorrel 960, minutes of the Teasel 680 (None: not on that axle)
OPERATIONS: list[tuple[int, str, str, tuple[int, int, int] | None, tuple[int, int, int] | None]] = [
    (10, "KR", "Pick the kit; pair the gear set", (15, 22, 45), (10, 16, 30)),
    (20, "KR", "Check tube stock against mill certificate", (6, 10, 20), (6, 10, 20)),
    (30, "TP", "Saw tubes left and right; carry the heat mark", (8, 12, 20), (6, 9, 15)),
    (40, "TP", "Turn housing-end fit diameter", (18, 25, 40), (14, 20, 32)),
    (50, "TP", "Face to length and bore spindle end", (20, 28, 45), (16, 22, 36)),
    (60, "TP", "Deburr the bore, cut the weld chamfer", (5, 8, 14), (4, 7, 12)),
    (70, "TP", "Press spindles (left, right)", (10, 15, 28), (8, 12, 22)),
    (80, "WB", "Preheat and weld spindles (left, right)", (35, 48, 75), (28, 38, 60)),
    (90, "WB", "First weld look at ambient", (8, 12, 20), (8, 12, 20)),
    (100, "WB", "Dress weld, check journal runout", (12, 18, 30), (10, 15, 26)),
    (110, "WB", "Clock and press tubes into centre housing", (18, 26, 45), (15, 22, 38)),
    (120, "WB", "Drill plug-weld holes", (10, 14, 24), (8, 12, 20)),
    (130, "WB", "Fill plug welds", (16, 22, 36), (12, 17, 28)),
    (140, "WB", "Drill and tap vent and level ports, clocked to pinion angle", (10, 15, 25), (8, 12, 20)),
    (150, "WB", "Fit, tack, weld bracket family", (45, 65, 110), (25, 38, 65)),
    (160, "WB", "Straightness on alignment bar; straighten if needed", (15, 22, 60), (12, 18, 45)),
    (165, "WB", "Second look at every weld (spindle, plug, bracket)", (8, 12, 20), (6, 10, 18)),
    (170, "WP", "Wash, dry, mask", (12, 18, 30), (10, 15, 25)),
    (180, "WP", "Prime, top coat, cure (batch of several axles)", (20, 30, 45), (18, 26, 40)),
    (190, "WP", "Film thickness, adhesion coupon, unmask", (8, 12, 20), (8, 12, 20)),
    (200, "GB", "Clean differential; check case flange", (8, 12, 20), (7, 10, 18)),
    (210, "GB", "Warm ring gear and seat on case", (10, 15, 25), (8, 12, 20)),
    (220, "GB", "Tighten ring-gear bolts; check back-face runout", (15, 22, 35), (12, 18, 28)),
    (230, "GB", "Fit set-up or new bearings to pinion and case", (10, 16, 28), (8, 13, 22)),
    (240, "AX", "Clean housing, check bores and threads", (10, 15, 25), (8, 12, 20)),
    (250, "AX", "Trial pinion depth", (15, 25, 45), (12, 20, 36)),
    (260, "AX", "Trial carrier and backlash", (15, 25, 50), (12, 20, 40)),
    (270, "AX", "Contact pattern drive and coast", (12, 25, 80), (10, 20, 65)),
    (280, "AX", "Final pinion bearings, preload", (25, 40, 75), (20, 32, 60)),
    (290, "AX", "Install carrier on preload shims; tighten bearing caps", (20, 28, 48), (16, 22, 40)),
    (300, "AX", "Final backlash, pattern re-look, total rotating torque", (12, 20, 40), (10, 16, 32)),
    (310, "AX", "Air line of the locking differential and air-circuit test (option)", (12, 18, 35), None),
    (320, "AX", "Pinion seal, yoke, nut", (10, 15, 25), (8, 12, 20)),
    (330, "AX", "Cover and cover bolts", (12, 18, 28), (10, 15, 24)),
    (340, "HB", "Press bearing cups into hubs (left, right)", (10, 14, 24), (8, 12, 20)),
    (350, "HB", "Press wheel studs", (10, 14, 24), (8, 12, 20)),
    (360, "HB", "Pack bearings, fill hub, fit seals", (12, 18, 28), (10, 15, 24)),
    (370, "AX", "Mount brake anchor / backing plates", (14, 20, 32), (12, 18, 28)),
    (380, "AX", "Hang hubs, adjust bearings, lock", (20, 28, 45), (16, 22, 38)),
    (390, "AX", "Rotors/drums and calipers", (18, 26, 42), (12, 18, 30)),
    (400, "AX", "Slide axle shafts, flange bolts", (14, 20, 32), (12, 17, 28)),
    (410, "FT", "Housing leak test; breather", (14, 18, 30), (14, 18, 30)),
    (420, "FT", "Final buy-off; plate", (20, 30, 50), (15, 22, 40)),
    (430, "FT", "Certificate, pack, ship", (20, 30, 50), (15, 25, 45)),
]

# code, class, decimals, low and high of Sorrel 960, low and high of Teasel 680, reactions, never above
CHARACTERISTICS = """
20.1 | S | 3 | 0.28 | 0.33 | 0.28 | 0.33 | tag | tag | -
20.2 | S | 3 | 0.4 | 0.6 | 0.4 | 0.6 | tag | tag | -
20.3 | S | 3 | - | 0.04 | - | 0.04 | - | tag | -
20.4 | S | 3 | - | 0.04 | - | 0.04 | - | tag | -
20.5 | S | 3 | 0.15 | 0.35 | 0.15 | 0.35 | tag | tag | -
20.6 | S | 3 | 0.8 | 1.1 | 0.8 | 1.1 | tag | tag | -
20.7 | S | 3 | 0.15 | 0.25 | 0.15 | 0.25 | tag | tag | -
20.8 | S | 0 | 105 | - | 105 | - | tag | - | -
20.9 | S | 0 | 85 | - | 85 | - | tag | - | -
20.10 | S | 0 | 10 | - | 10 | - | tag | - | -
30.1 | F | 2 | 24.8 | 24.92 | 20.05 | 20.17 | tag | tag | -
30.2 | F | 2 | 29.18 | 29.3 | 20.05 | 20.17 | tag | tag | -
40.1 | S | 4 | 3.5028 | 3.5037 | 2.6272 | 2.6279 | tag | back to 40 | -
40.2 | S | 4 | 3.5 | 3.5014 | 2.625 | 2.6262 | tag | tag | -
40.3 | S | 4 | 0.0014 | 0.0037 | 0.001 | 0.0029 | tag | tag | -
50.1 | F | 3 | 24.735 | 24.765 | 19.985 | 20.015 | tag | back to 50 | -
50.2 | F | 3 | 29.11 | 29.14 | 19.985 | 20.015 | tag | back to 50 | -
50.3 | S | 4 | 3.0625 | 3.0637 | 2.3125 | 2.3137 | back to 50 | tag | -
50.4 | S | 4 | - | 0.0008 | - | 0.0008 | - | tag | -
50.5 | F | 3 | - | 0.003 | - | 0.003 | - | back to 50 | -
50.6 | S | 4 | 3.0647 | 3.0654 | 2.3145 | 2.3152 | tag | tag | -
50.7 | S | 4 | 0.001 | 0.0029 | 0.0008 | 0.0027 | tag | tag | -
60.1 | F | 0 | 35 | 40 | 35 | 40 | back to 60 | back to 60 | -
70.1 | S | 0 | 3520 | 19100 | 2290 | 14500 | stop | stop | -
70.2 | S | 3 | - | 0.002 | - | 0.002 | - | back to 70 | -
80.1 | S | 0 | 300 | 400 | 300 | 400 | wait | wait | -
80.2 | S | 0 | 300 | 500 | 300 | 500 | wait | wait | -
80.3 | S | 1 | 23 | 27 | 20 | 24 | stop | stop | -
80.4 | S | 0 | 190 | 230 | 150 | 185 | stop | stop | -
80.5 | S | 1 | 9 | 13 | 9 | 13 | stop | stop | -
80.6 | S | 1 | 20.1 | 41.4 | 13.8 | 29.6 | stop | stop | -
90.1 | S | 0 | - | 100 | - | 100 | - | wait | -
90.2 | S | 3 | - | 0.01 | - | 0.01 | - | tag | -
90.3 | S | 0 | 0 | 0 | 0 | 0 | stop | stop | -
100.1 | F | 3 | - | 0.004 | - | 0.004 | - | tag | -
110.1 | S | 0 | 2890 | 14300 | 1610 | 8770 | stop | stop | -
110.2 | F | 1 | -0.5 | 0.5 | -0.5 | 0.5 | tag | tag | -
110.3 | F | 3 | 58.345 | 58.405 | 42.97 | 43.03 | tag | tag | -
120.1 | S | 4 | 0.8125 | 0.8275 | 0.625 | 0.64 | tag | tag | -
120.2 | S | 0 | 3 | 3 | 3 | 3 | back to 120 | back to 120 | -
120.3 | S | 2 | 4.18 | - | 3.10 | - | tag | - | -
130.1 | L | 2 | 0 | 0.06 | 0 | 0.06 | back to 130 | back to 130 | -
130.2 | S | 0 | 6 | 6 | 6 | 6 | back to 130 | back to 130 | -
130.3 | S | 0 | 300 | 400 | 300 | 400 | wait | wait | -
130.4 | S | 0 | 300 | 500 | 300 | 500 | wait | wait | -
130.5 | S | 1 | 23 | 27 | 20 | 24 | stop | stop | -
130.6 | S | 0 | 190 | 230 | 150 | 185 | stop | stop | -
130.7 | S | 1 | 9 | 13 | 9 | 13 | stop | stop | -
130.8 | S | 1 | 20.1 | 41.4 | 13.8 | 29.6 | stop | stop | -
140.1 | F | 1 | -1 | 1 | -1 | 1 | tag | tag | -
150.1 | F | 3 | -0.06 | 0.06 | -0.06 | 0.06 | back to 150 | back to 150 | -
150.2 | S | 1 | 5.5 | 6.5 | 1.5 | 2.5 | tag | tag | -
150.3 | S | 0 | 300 | 400 | 300 | 400 | wait | wait | -
150.4 | S | 0 | 300 | 500 | 300 | 500 | wait | wait | -
150.5 | S | 1 | 23 | 27 | 20 | 24 | stop | stop | -
150.6 | S | 0 | 190 | 230 | 150 | 185 | stop | stop | -
150.7 | S | 1 | 9 | 13 | 9 | 13 | stop | stop | -
150.8 | S | 1 | 20.1 | 41.4 | 13.8 | 29.6 | stop | stop | -
160.1 | S | 3 | - | 0.015 | - | 0.015 | - | back to 160 | -
160.2 | S | 3 | - | 0.015 | - | 0.015 | - | back to 160 | -
165.1 | S | 0 | 48 | - | 48 | - | wait | - | -
165.2 | S | 0 | 0 | 0 | 0 | 0 | stop | stop | -
165.3 | S | 3 | - | 0.01 | - | 0.01 | - | tag | -
180.1 | L | 0 | 5 | - | 5 | - | wait | - | -
190.1 | L | 1 | 3.0 | 5.0 | 3.0 | 5.0 | tag | tag | -
190.2 | L | 0 | 4 | - | 4 | - | stop | - | -
200.1 | F | 3 | - | 0.002 | - | 0.002 | - | tag | -
210.1 | F | 0 | 160 | 250 | 160 | 250 | repeat 1 | wait | 275
210.2 | F | 3 | - | 0.003 | - | 0.003 | - | back to 210 | -
220.1 | S | 0 | 100 | 110 | 39 | 45 | repeat 1 | tag | -
220.2 | F | 4 | - | 0.003 | - | 0.002 | - | back to 210 | -
220.3 | S | 0 | - | 100 | - | 100 | - | wait | -
250.1 | F | 3 | -0.002 | 0.002 | -0.002 | 0.002 | back to 250 | back to 250 | -
260.1 | F | 4 | 0.006 | 0.01 | 0.004 | 0.008 | back to 260 | back to 260 | -
280.1 | S | 0 | 20 | 30 | 12 | 20 | back to 280 | back to 280 | -
290.1 | F | 3 | 0.003 | 0.006 | 0.003 | 0.006 | back to 290 | back to 290 | -
290.2 | S | 3 | - | 0.015 | - | 0.015 | - | stop | -
290.3 | S | 0 | 80 | 90 | 53 | 59 | repeat 1 | tag | -
300.1 | S | 4 | 0.006 | 0.01 | 0.004 | 0.008 | back to 260 | back to 260 | -
300.2 | F | 4 | - | 0.002 | - | 0.002 | - | back to 260 | -
300.3 | F | 0 | 4 | 12 | 2 | 8 | back to 290 | back to 290 | -
310.1 | F | 0 | 90 | 100 | - | - | repeat 1 | repeat 1 | -
310.2 | F | 1 | - | 2 | - | - | - | back to 310 | -
310.3 | F | 0 | 10 | - | - | - | back to 310 | - | -
320.1 | S | 0 | 280 | 320 | 185 | 215 | repeat 1 | tag | -
320.2 | F | 0 | 24 | 50 | 14 | 36 | back to 280 | back to 280 | -
330.1 | F | 0 | 25 | 31 | 13 | 17 | repeat 1 | tag | -
340.1 | S | 4 | - | 0.0015 | - | 0.0015 | - | back to 340 | -
350.1 | S | 0 | 8 | 8 | 6 | 6 | back to 350 | back to 350 | -
360.1 | F | 1 | 3.0 | 4.0 | 2.0 | 3.0 | repeat 1 | repeat 1 | -
360.2 | F | 3 | 0 | 0.02 | 0 | 0.02 | back to 360 | back to 360 | -
370.1 | S | 0 | 90 | 100 | 60 | 70 | repeat 1 | tag | -
380.1 | S | 0 | 45 | 55 | 45 | 55 | repeat 1 | tag | -
380.2 | S | 4 | 0.001 | 0.005 | 0.001 | 0.005 | back to 380 | back to 380 | -
380.3 | S | 0 | 140 | 160 | - | - | repeat 1 | tag | -
380.4 | S | 0 | - | - | - | - | repeat 1 | - | -
380.5 | S | 0 | - | - | - | - | repeat 1 | - | -
390.1 | F | 3 | - | 0.004 | - | 0.01 | - | tag | -
390.2 | S | 0 | 60 | 70 | - | - | repeat 1 | tag | -
400.1 | S | 0 | 90 | 100 | 39 | 45 | repeat 1 | tag | -
410.1 | F | 2 | 4.5 | 5.5 | 4.5 | 5.5 | repeat 1 | repeat 1 | 8
410.2 | F | 3 | - | 0.1 | - | 0.1 | - | tag | -
"""
