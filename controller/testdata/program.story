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
fault journal
fault supply
fault clock
run 2m
     45m33s  raised "clock stepped"
     45m42s  raised "supply low"
     45m42s  alarm "supply low": normal -> unacknowledged
      46m2s  raised "journal failing"
      46m2s  alarm "journal failing": normal -> unacknowledged
heal clock
heal journal
heal supply
run 12m
     48m32s  cleared "clock stepped"
     48m32s  cleared "journal failing"
     48m32s  alarm "journal failing": unacknowledged -> over, nobody answered
     50m45s  heat off
     57m32s  cleared "supply low"
     57m32s  alarm "supply low": unacknowledged -> over, nobody answered
fault store
run 1m
     59m33s  series relay off
     1h0m2s  raised "journal failing"
     1h0m2s  alarm "journal failing": over, nobody answered -> unacknowledged
show
  = water 29.45, effective 29.40, stage "proven", waits for the latch store, permitted false, reason "none", animal may be in
  = journal failing: warning, unacknowledged, latched false. Look at the card and change it.
  = supply low: none, over, nobody answered, latched false. Change the board's power supply or its cable.
heal store
run 5m
    1h0m33s  series relay on
    1h1m32s  cleared "journal failing"
    1h1m32s  alarm "journal failing": unacknowledged -> over, nobody answered
fault relay unwritten
run 15s
    1h5m33s  raised "relay cannot be written"
    1h5m33s  alarm "relay cannot be written": normal -> unacknowledged
    1h5m33s  series relay off
    1h5m42s  latched "relay cannot be written"
heal relay unwritten
run 10s
    1h5m52s  alarm "relay cannot be written": unacknowledged -> latched unacknowledged
show
  = water 29.39, effective 29.40, stage "proven", waits for nothing, permitted false, reason "relay cannot be written", animal may be in
  = relay cannot be written: trip, latched unacknowledged, latched true. Unplug the pad. Look at the relay board.
  = journal failing: none, over, nobody answered, latched false. Look at the card and change it.
  = supply low: none, over, nobody answered, latched false. Change the board's power supply or its cable.
