# The pad relay welds. Suspicion opens the series relay, proof latches.
tub 29
run 5h
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
     45m32s  ready on, 29.38 C
     50m45s  heat off
   1h13m30s  heat on
   1h23m15s  heat off
   1h46m18s  heat on
   1h53m40s  heat off
    2h9m49s  heat on
   2h16m36s  heat off
   2h33m58s  heat on
   2h41m36s  heat off
   2h58m44s  heat on
    3h5m46s  heat off
   3h21m44s  heat on
   3h28m40s  heat off
   3h44m53s  heat on
   3h51m48s  heat off
    4h9m11s  heat on
   4h16m34s  heat off
   4h33m44s  heat on
    4h41m6s  heat off
   4h57m44s  heat on
fault pad welded
until latched 4h
    5h4m49s  heat off
    5h8m31s  raised "unasked rise", 29.56 C
    5h8m31s  alarm "unasked rise": normal -> unacknowledged, 29.56 C
    5h38m1s  latched "unasked rise", 29.56 C
show
  = water 29.71, effective 29.40, stage "proven", waits for nothing, permitted false, reason "unasked rise", animal may be in
  = unasked rise: trip, unacknowledged, latched true. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
act reset unasked rise seen
    5h38m2s  act refused "unasked rise": reset it at the board
act reset unasked rise board
    5h38m3s  act refused "unasked rise": say what you looked at
act reset unasked rise board seen
    5h38m4s  act refused "unasked rise": the cause persists
heal pad welded
run 10m
act reset unasked rise board seen
    5h48m5s  alarm "unasked rise": unacknowledged -> normal, 29.56 C
    5h48m5s  reset "unasked rise"
    5h48m5s  series relay on
run 3h
   6h16m23s  heat on
   6h23m26s  heat off
   6h40m11s  heat on
   6h47m15s  heat off
    7h3m24s  heat on
   7h10m12s  heat off
   7h27m16s  heat on
   7h34m41s  heat off
   7h52m11s  heat on
   7h59m35s  heat off
   8h16m21s  heat on
   8h23m46s  heat off
    8h41m1s  heat on
show
  = water 29.43, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
