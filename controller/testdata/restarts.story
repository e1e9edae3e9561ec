tub 29
until ready 4h
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
restart clean
run 20m
         4s  series relay on
      10m1s  ready on, 29.31 C
     11m24s  first heat
     11m24s  heat on
restart unclean 1
run 10m
         1s  raised "restarts"
         1s  alarm "restarts": normal -> unacknowledged
       5m1s  cleared "restarts"
       5m1s  alarm "restarts": unacknowledged -> over, nobody answered
       5m1s  series relay on
restart unclean 2
run 11m
         1s  raised "restarts"
         1s  alarm "restarts": over, nobody answered -> unacknowledged
      10m1s  cleared "restarts"
      10m1s  alarm "restarts": unacknowledged -> over, nobody answered
      10m1s  ready on, 29.31 C
      10m1s  series relay on
     10m34s  first heat
     10m34s  heat on
restart unclean 3
run 25m
         1s  raised "restarts"
         1s  latched "restarts"
         1s  alarm "restarts": over, nobody answered -> unacknowledged
      10m1s  ready on, 29.25 C
      20m1s  alarm "restarts": unacknowledged -> latched unacknowledged
act reset restarts seen
      25m1s  alarm "restarts": latched unacknowledged -> normal
      25m1s  reset "restarts"
      25m1s  first heat
      25m1s  heat on
      25m1s  series relay on
run 10m
show
  = water 29.25, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
