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
    1h53m6s  heat off
    2h9m25s  heat on
   2h16m12s  heat off
   2h33m53s  heat on
   2h41m32s  heat off
   2h58m21s  heat on
    3h5m22s  heat off
   3h21m51s  heat on
    3h29m5s  heat off
   3h45m36s  heat on
   3h52m29s  heat off
     4h9m1s  heat on
    4h16m7s  heat off
   4h32m28s  heat on
   4h39m25s  heat off
   4h55m54s  heat on
     5h3m5s  heat off
   5h20m27s  heat on
   5h27m48s  heat off
   5h44m34s  heat on
   5h51m39s  heat off
fault pad welded
until latched 2h
     6h2m1s  raised "unasked rise", 29.44 C
     6h2m1s  latched "unasked rise", 29.44 C
     6h2m1s  alarm "unasked rise": normal -> unacknowledged, 29.44 C
run 20m
show
  = water 29.23, effective 29.40, stage "proven", waits for nothing, permitted false, reason "unasked rise", animal may be in
  = unasked rise: trip, unacknowledged, latched true. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
