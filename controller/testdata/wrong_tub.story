tub 28
run 20m
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 27.94 C
      10m4s  first heat
      10m4s  heat on
      10m4s  series relay on
      15m9s  heat off
      15m9s  series relay off
      18m9s  proof of "pairing" passed, 28.06 C
fault crossed
run 1m
      20m1s  raised "wrong tub"
      20m1s  alarm "wrong tub": normal -> unacknowledged
heal crossed
run 1h
show
  = water 27.51, effective 28.10, stage "measuring the drift", waits for nothing, permitted false, reason "wrong tub", animal may be in
  = wrong tub: heat off, unacknowledged, latched false. Trace each probe and pad to its tub, then prove anew.
  = unproven: heat off, suppressed by design, latched false. Stay with the tub until the proof has passed.
act prove board
    1h21m1s  act done
    1h21m1s  cleared "wrong tub"
    1h21m1s  alarm "wrong tub": unacknowledged -> over, nobody answered
until proven 2h
    1h31m0s  proof of "all off" passed, 27.44 C
    1h31m1s  heat on
    1h31m1s  series relay on
    1h36m6s  heat off
    1h36m6s  series relay off
    1h39m6s  proof of "pairing" passed, 27.56 C
   1h46m41s  proof of "series relay" passed, 27.50 C
   1h46m41s  heat on
   1h46m41s  series relay on
show
  = water 27.48, effective 28.04, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = wrong tub: none, over, nobody answered, latched false. Trace each probe and pad to its tub, then prove anew.
  = unproven: warning, suppressed by design, latched false. Stay with the tub until the proof has passed.
