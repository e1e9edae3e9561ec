# Sun begins with the series relay's proof: it warms, and goes on in the pause.
tub 26
run 18m30s
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
       1m1s  raised "too cold", 25.94 C
       1m1s  alarm "too cold": normal -> suppressed by design, 25.94 C
      10m3s  proof of "all off" passed, 25.94 C
      10m4s  first heat
      10m4s  heat on
      10m4s  series relay on
      15m9s  heat off
      15m9s  series relay off
      18m9s  proof of "pairing" passed, 26.06 C
sun 3
run 40m
      35m2s  cleared "too cold", 25.94 C
      35m2s  alarm "too cold": suppressed by design -> normal, 25.94 C
     42m24s  proof of "series relay" passed, 27.12 C
     42m24s  heat on
     42m24s  series relay on
     42m25s  cleared "unproven"
     42m25s  alarm "unproven": suppressed by design -> normal
sun 0
until proven 2h
show
  = water 28.30, effective 28.33, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
