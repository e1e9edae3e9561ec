tub 29 single
act presence board
         1s  act done
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
run 28m
      10m3s  proof of "all off" passed, 28.88 C
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
act presence board
      28m2s  act done
until ready 4h
      46m1s  ready on, 29.38 C
act presence board
      46m2s  act done
fault control frozen
run 25m
     53m21s  raised "probe frozen", 29.38 C
     53m21s  alarm "probe frozen": normal -> unacknowledged, 29.38 C
     53m21s  heat off
     53m21s  series relay off
act presence board
    1h11m3s  act done
run 5m
heal control frozen
run 20m
   1h16m30s  cleared "probe frozen", 29.38 C
   1h16m30s  alarm "probe frozen": unacknowledged -> over, nobody answered, 29.38 C
   1h16m30s  series relay on
   1h21m22s  heat on
   1h22m22s  heat off
   1h26m21s  heat on
   1h26m21s  series relay on
   1h31m21s  heat off
act presence board
    1h36m4s  act done
fault control frozen
run 25m
   1h36m21s  heat on
   1h36m21s  series relay on
   1h45m31s  raised "probe frozen", 29.31 C
   1h45m31s  alarm "probe frozen": over, nobody answered -> unacknowledged, 29.31 C
   1h45m31s  heat off
   1h45m31s  series relay off
act presence board
     2h1m5s  act done
run 25m
   2h16m29s  latched "probe frozen", 29.31 C
act presence board
    2h26m6s  act done
run 25m
show
  = water 28.91, effective 29.40, stage "proven", waits for nothing, permitted false, reason "probe frozen", animal may be in
  = probe frozen: trip, unacknowledged, latched true. Change the probe.
