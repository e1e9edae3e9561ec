# With a floor probe the proof is there within minutes.
tub 29 floor
run 6h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 28.94 C
      10m4s  first heat
      10m4s  heat on
      10m4s  series relay on
      15m9s  heat off
      15m9s  series relay off
      18m9s  proof of "pairing" passed, 29.00 C
     25m44s  proof of "series relay" passed, 28.94 C
     25m44s  heat on
     25m44s  series relay on
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
     45m24s  ready on, 29.38 C
     50m47s  heat off
   1h13m29s  heat on
    1h23m6s  heat off
   1h45m46s  heat on
   1h55m35s  heat off
   2h18m23s  heat on
    2h28m2s  heat off
   2h50m40s  heat on
    2h59m4s  heat off
   3h17m54s  heat on
    3h26m2s  heat off
   3h45m19s  heat on
    3h53m1s  heat off
   4h10m15s  heat on
   4h17m21s  heat off
    4h35m6s  heat on
   4h42m11s  heat off
   4h58m40s  heat on
    5h5m48s  heat off
   5h22m17s  heat on
   5h29m19s  heat off
   5h46m38s  heat on
   5h54m15s  heat off
fault pad welded
until latched 2h
     6h2m1s  raised "unasked rise", 29.50 C
     6h2m1s  latched "unasked rise", 29.50 C
     6h2m1s  alarm "unasked rise": normal -> unacknowledged, 29.50 C
run 20m
show
  = water 29.27, effective 29.40, stage "proven", waits for nothing, permitted false, reason "unasked rise", animal may be in
  = unasked rise: trip, unacknowledged, latched true. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
