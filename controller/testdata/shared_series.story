tub 29 shared
run 30m
         1s  raised "nobody present"
         1s  alarm "nobody present": normal -> unacknowledged
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 28.94 C
show
  = water 28.71, effective 29.29, stage "proving pulse", waits for nothing, permitted false, reason "nobody present", animal may be in
  = nobody present: heat off, unacknowledged, latched false. Look at the animal and say that you are here.
  = unproven: warning, suppressed by design, latched false. Stay with the tub until the proof has passed.
act presence board
      30m1s  act done
      30m1s  cleared "nobody present"
      30m1s  alarm "nobody present": unacknowledged -> over, nobody answered
      30m1s  first heat
      30m1s  heat on
      30m1s  series relay on
run 40m
      35m6s  heat off
      35m6s  series relay off
      38m6s  proof of "pairing" passed, 28.75 C
     45m41s  proof of "series relay" passed, 28.69 C
     45m41s  heat on
     45m41s  series relay on
     45m42s  cleared "unproven"
     45m42s  alarm "unproven": suppressed by design -> normal
     1h0m1s  raised "nobody present"
     1h0m1s  alarm "nobody present": over, nobody answered -> unacknowledged
     1h0m1s  heat off
     1h0m1s  series relay off
show
  = water 29.00, effective 29.40, stage "proven", waits for nothing, permitted false, reason "nobody present", animal may be in
  = nobody present: heat off, unacknowledged, latched false. Look at the animal and say that you are here.
