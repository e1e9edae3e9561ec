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
fault pad dead
run 4h
    5h6m31s  heat off
   5h10m11s  raised "no rise", 29.38 C
   5h10m11s  alarm "no rise": normal -> unacknowledged, 29.38 C
   5h10m41s  heat on
   5h10m41s  series relay on
   5h12m21s  heat off
   5h17m41s  heat on
   5h17m41s  series relay on
   5h19m21s  heat off
   5h24m11s  heat on
   5h24m11s  series relay on
show
  = water 27.27, effective 27.85, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = no rise: warning, unacknowledged, latched false. Look at pad, plug and lid, and whether each probe is in this tub.
heal pad dead
run 2h
   9h25m40s  cleared "no rise", 29.38 C
   9h25m40s  alarm "no rise": unacknowledged -> over, nobody answered, 29.38 C
  10h21m19s  ready on, 29.38 C
   10h24m6s  heat off
  10h40m25s  heat on
  10h47m28s  heat off
show
  = water 29.35, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = no rise: none, over, nobody answered, latched false. Look at pad, plug and lid, and whether each probe is in this tub.
