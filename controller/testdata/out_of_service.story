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
fault card
fault late
run 3m
     45m33s  raised "loop late"
     45m33s  alarm "loop late": normal -> unacknowledged
     46m32s  raised "card nearly full"
     46m32s  alarm "card nearly full": normal -> unacknowledged
act shelve too cold
     48m33s  act refused "too cold": no such alarm
act shelve card nearly full
     48m34s  alarm "card nearly full": unacknowledged -> shelved
     48m34s  act done "card nearly full"
act take out of service
     48m35s  act done
     48m35s  alarm "loop late": unacknowledged -> out of service
     48m35s  alarm "card nearly full": shelved -> out of service
     48m35s  heat off
     48m35s  series relay off
act take out of service
     48m36s  act refused: not now
run 10m
show
  = water 29.39, effective 29.40, stage "proven", waits for being put in service, permitted false, reason "none", animal may be in
  = loop late: warning, out of service, latched false. Look what else this computer is doing.
  = card nearly full: warning, out of service, latched false. Make room on the card.
act unshelve card nearly full
     58m37s  act done "card nearly full"
act put in service
     58m38s  act done
     58m38s  alarm "loop late": out of service -> unacknowledged
     58m38s  alarm "card nearly full": out of service -> unacknowledged
     58m38s  heat on
     58m38s  series relay on
act acknowledge loop late
     58m39s  alarm "loop late": unacknowledged -> acknowledged
     58m39s  act done "loop late"
run 10m
     1h5m8s  heat off
show
  = water 29.51, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = loop late: warning, acknowledged, latched false. Look what else this computer is doing.
  = card nearly full: warning, unacknowledged, latched false. Make room on the card.
heal card
heal late
run 15m
   1h13m39s  cleared "loop late"
   1h13m39s  alarm "loop late": acknowledged -> normal
   1h18m39s  cleared "card nearly full"
   1h18m39s  alarm "card nearly full": unacknowledged -> over, nobody answered
