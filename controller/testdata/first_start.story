# A station that knows nothing proves its relays and warms the water.
tub 26
until ready 6h
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
     25m44s  proof of "series relay" passed, 26.06 C
     25m44s  heat on
     25m44s  series relay on
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
     53m11s  cleared "too cold", 25.94 C
     53m11s  alarm "too cold": suppressed by design -> normal, 25.94 C
   2h30m24s  ready on, 29.38 C
show
  = water 29.37, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
run 3h
   2h35m27s  heat off
    2h57m6s  heat on
    3h6m37s  heat off
   3h28m45s  heat on
    3h38m0s  heat off
   3h59m33s  heat on
    4h8m58s  heat off
   4h31m38s  heat on
   4h39m31s  heat off
   4h57m44s  heat on
    5h5m14s  heat off
   5h22m28s  heat on
   5h30m11s  heat off
