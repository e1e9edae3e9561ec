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
fault pad dead
run 4h
    5h5m51s  heat off
    5h10m1s  heat on
    5h10m1s  series relay on
   5h12m11s  heat off
   5h13m10s  raised "no rise", 29.25 C
   5h13m10s  alarm "no rise": normal -> unacknowledged, 29.25 C
   5h17m31s  heat on
   5h17m31s  series relay on
   5h19m41s  heat off
   5h24m31s  heat on
   5h24m31s  series relay on
show
  = water 27.22, effective 27.79, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = no rise: warning, unacknowledged, latched false. Look at pad, plug, lid and probe.
heal pad dead
run 2h
   9h11m10s  cleared "no rise", 29.25 C
   9h11m10s  alarm "no rise": unacknowledged -> over, nobody answered, 29.25 C
  10h23m48s  ready on, 29.38 C
  10h26m19s  heat off
  10h44m24s  heat on
  10h51m49s  heat off
show
  = water 29.40, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = no rise: none, over, nobody answered, latched false. Look at pad, plug, lid and probe.
