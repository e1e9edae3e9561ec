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
sun 12
until latched 1h
     46m10s  heat off
      48m1s  raised "unasked rise", 29.88 C
      48m1s  alarm "unasked rise": normal -> unacknowledged, 29.88 C
     48m58s  raised "over the band", 30.12 C
     48m58s  alarm "over the band": normal -> suppressed by design, 30.12 C
     56m49s  raised "over the cutoff", 31.62 C
     56m49s  latched "over the cutoff", 31.62 C
     56m49s  alarm "over the cutoff": normal -> unacknowledged, 31.62 C
sun 0
run 10m
     1h3m5s  raised "both relays welded", 31.50 C
     1h3m5s  alarm "both relays welded": normal -> unacknowledged, 31.50 C
     1h4m0s  raised "heat from outside", 31.44 C
     1h4m0s  alarm "heat from outside": normal -> suppressed by design, 31.44 C
act reset over the cutoff board seen
    1h6m50s  act refused "over the cutoff": the cause persists
act acknowledge over the cutoff
    1h6m51s  alarm "over the cutoff": unacknowledged -> acknowledged, 31.62 C
    1h6m51s  act done "over the cutoff"
room 15
water 30.5
run 10m
     1h7m1s  alarm "over the cutoff": acknowledged -> latched acknowledged, 31.62 C
    1h7m11s  raised "no water", 30.50 C
    1h7m11s  alarm "no water": normal -> unacknowledged, 30.50 C
    1h7m12s  raised "unproven"
    1h7m12s  alarm "unproven": normal -> suppressed by design
    1h7m51s  cleared "both relays welded", 31.50 C
    1h7m51s  alarm "both relays welded": unacknowledged -> over, nobody answered, 31.50 C
act reset over the cutoff board seen
   1h16m52s  alarm "over the cutoff": latched acknowledged -> normal, 31.62 C
   1h16m52s  reset "over the cutoff"
   1h16m52s  cleared "no water", 30.50 C
   1h16m52s  alarm "no water": unacknowledged -> over, nobody answered, 30.50 C
run 10m
show
  = water 30.06, effective 29.40, stage "proving pulse", waits for nothing, permitted false, reason "over the band", animal may be in
  = over the band: heat off, suppressed by design, latched false. Feel the water. Shade the tub, cool the room, look for a stuck relay.
  = unasked rise: warning, unacknowledged, latched false. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
  = heat from outside: warning, suppressed by design, latched false. Shade the tub or cool the room.
  = no water: none, over, nobody answered, latched false. Look at the water level and at every probe, then confirm the fill.
  = both relays welded: none, over, nobody answered, latched false. PULL THE PLUG. Lift the snake out. Dry box.
  = unproven: warning, suppressed by design, latched false. Stay with the tub until the proof has passed.
