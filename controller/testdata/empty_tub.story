# Nobody in the water: the tub warms at full heat, once it is proven.
tub 22 attended only
run 1m
         1s  raised "nobody present"
         1s  alarm "nobody present": normal -> unacknowledged
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
act animal out board
       1m1s  act done
       1m1s  raised "too cold", 22.00 C
       1m1s  alarm "too cold": normal -> suppressed by design, 22.00 C
       1m1s  cleared "nobody present"
       1m1s  alarm "nobody present": unacknowledged -> normal
until ready 8h
      10m3s  proof of "all off" passed, 22.00 C
      10m4s  first heat
      10m4s  heat on
      10m4s  series relay on
      15m9s  heat off
      15m9s  series relay off
      18m9s  proof of "pairing" passed, 22.19 C
     25m44s  proof of "series relay" passed, 22.19 C
     25m44s  heat on
     25m44s  series relay on
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
   2h52m32s  cleared "too cold", 22.00 C
   2h52m32s  alarm "too cold": suppressed by design -> normal, 22.00 C
   4h29m18s  ready on, 29.38 C
act animal in board
   4h29m19s  act done
run 40m
   4h34m30s  heat off
   4h57m36s  heat on
   4h59m19s  raised "nobody present"
   4h59m19s  alarm "nobody present": normal -> unacknowledged
   4h59m19s  heat off
   4h59m19s  series relay off
show
  = water 29.24, effective 29.40, stage "proven", waits for nothing, permitted false, reason "nobody present", animal in
  = nobody present: heat off, unacknowledged, latched false. Look at the animal and say that you are here.
act presence board
    5h9m20s  act done
    5h9m20s  cleared "nobody present"
    5h9m20s  alarm "nobody present": unacknowledged -> over, nobody answered
    5h9m20s  heat on
    5h9m20s  series relay on
run 10m
show
  = water 29.43, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal in
  = nobody present: none, over, nobody answered, latched false. Look at the animal and say that you are here.
