# Both relays are welded when the program starts: the water warms with all off.
tub 26
fault pad welded
fault series welded
run 25m
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
       1m1s  raised "too cold", 26.00 C
       1m1s  alarm "too cold": normal -> suppressed by design, 26.00 C
      10m3s  proof of "all off" failed, 26.25 C
      10m3s  alarm "unproven": suppressed by design -> unacknowledged
      11m3s  raised "heat from outside", 26.25 C
      11m3s  alarm "heat from outside": normal -> unacknowledged, 26.25 C
      20m3s  proof of "all off" failed, 26.56 C
      20m8s  raised "both relays welded", 26.56 C
      20m8s  alarm "both relays welded": normal -> unacknowledged, 26.56 C
show
  = water 26.68, effective 26.89, stage "watching with all off", waits for nothing, permitted false, reason "unproven", animal may be in
  = too cold: warning, suppressed by design, latched false. Warm the animal. Look whether the pad has power and the lid is on.
  = heat from outside: warning, unacknowledged, latched false. Shade the tub or cool the room.
  = both relays welded: warning, unacknowledged, latched false. PULL THE PLUG. Lift the snake out. Dry box.
  = unproven: heat off, unacknowledged, latched false. Stay with the tub until the proof has passed.
