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
    1h56m2s  heat off
   2h18m15s  heat on
   2h27m51s  heat off
   2h49m53s  heat on
   2h57m41s  heat off
   3h15m35s  heat on
   3h23m21s  heat off
   3h41m53s  heat on
   3h49m21s  heat off
    4h7m14s  heat on
   4h14m28s  heat off
   4h30m44s  heat on
   4h37m27s  heat off
   4h54m24s  heat on
fault pad welded
until latched 4h
     5h2m1s  heat off
    5h5m21s  raised "unasked rise", 29.56 C
    5h5m21s  alarm "unasked rise": normal -> unacknowledged, 29.56 C
   5h34m51s  latched "unasked rise", 29.56 C
show
  = water 29.71, effective 29.40, stage "proven", waits for nothing, permitted false, reason "unasked rise", animal may be in
  = unasked rise: trip, unacknowledged, latched true. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
act reset unasked rise seen
   5h34m52s  act refused "unasked rise": reset it at the board
act reset unasked rise board
   5h34m53s  act refused "unasked rise": say what you looked at
act reset unasked rise board seen
   5h34m54s  act refused "unasked rise": the cause persists
heal pad welded
run 10m
act reset unasked rise board seen
   5h44m55s  alarm "unasked rise": unacknowledged -> normal, 29.56 C
   5h44m55s  reset "unasked rise"
   5h44m55s  series relay on
run 3h
   6h12m38s  heat on
   6h19m34s  heat off
   6h36m21s  heat on
   6h43m29s  heat off
    7h0m50s  heat on
     7h8m6s  heat off
    7h25m2s  heat on
   7h32m21s  heat off
   7h48m55s  heat on
    7h56m5s  heat off
   8h12m36s  heat on
   8h19m31s  heat off
   8h36m33s  heat on
   8h43m58s  heat off
show
  = water 29.45, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
