# The series relay never opens. Its proof finds it, three times in a row.
tub 26
fault series welded
until latched 3h
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
   1h29m59s  cleared "too cold", 25.94 C
   1h29m59s  alarm "too cold": suppressed by design -> normal, 25.94 C
    1h36m4s  proof of "series relay" failed, 26.94 C
    1h36m9s  raised "series relay welded"
    1h36m9s  latched "series relay welded"
    1h36m9s  alarm "series relay welded": normal -> unacknowledged
show
  = water 26.96, effective 27.50, stage "measuring the drift", waits for nothing, permitted false, reason "series relay welded", animal may be in
  = series relay welded: trip, unacknowledged, latched true. Unplug the pad. Change the series relay.
  = unproven: warning, suppressed by design, latched false. Stay with the tub until the proof has passed.
