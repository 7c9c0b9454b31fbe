// A loom of about 1,000 wires with 24 switches that have nothing to do with one another but for the drive's five.
#pragma once

#include <string>

#include <fmt/format.h>

namespace loomproof {

/// Key, kill switch, two brakes and a throttle command the drive; `switches` more each feed a group of lamps, every
/// second one through a relay.
inline std::string switched_loom(int switches = 19, int lamps = 24) {
  std::string parts =
      "  pack: {is: pack, chemistry: lfp, series: 16, parallel: 3, cell_resistance: 1.2 mohm}\n"
      "  pack_fuse: {is: fuse, rated: 150 A, volts: 80 V, breaks: 12 kA at 80 V, curve: bolt-in}\n"
      "  main: {is: contactor, carries: 200 A, makes: 40 A, breaks: 300 A at 80 V, coil: 12 V 1 A, suppression: "
      "zener}\n"
      "  pre_relay: {is: relay, carries: 5 A, volts: 80 V, coil: 12 V 0.1 A, suppression: diode}\n"
      "  pre_res: {is: resistor, ohms: 47 ohm, watts: 100 W, pulse: 120 J}\n"
      "  drive: {is: motor-controller, volts: 36 V to 75 V, battery_limit: 120 A, capacitance: 2200 uF, isolated: "
      "true,\n"
      "          closes_main_above: 36 V, key_input: {max: 16 V}, permit_input: {max: 16 V},\n"
      "          brake_input: {active: high, on_above: 8 V, off_below: 4 V, max: 16 V},\n"
      "          throttle: {zero: 0.9 V, full: 4.1 V, valid: 0.6 V to 4.4 V}}\n"
      "  bat: {is: battery, resistance: 10 mohm}\n"
      "  ctl_fuse: {is: fuse, rated: 7.5 A, volts: 32 V, breaks: 1 kA, curve: blade}\n"
      "  key: {is: switch, positions: [off, on], carries: 10 A, volts: 16 V}\n"
      "  kill: {is: switch, positions: [run, stop], closed_in: [run], carries: 10 A, volts: 16 V}\n"
      "  hand: {is: brake-switch, positions: [released, pressed], carries: 5 A, volts: 16 V}\n"
      "  foot: {is: brake-switch, positions: [released, pressed], carries: 5 A, volts: 16 V}\n"
      "  grip: {is: throttle, sensor: hall, gives: 0.8 V to 4.2 V}\n"
      "  frame: {is: frame}\n  bus: {is: splice}\n  keyed: {is: splice}\n";
  std::string wires;
  int number = 0;
  const auto wire = [&](const std::string& from, const std::string& to, const char* size = "1 mm2") {
    wires += fmt::format("  W{}: {{from: {}, to: {}, size: {}, length: 0.8 m, insulation: pvc-105, colour: BK}}\n",
                         number++, from, to, size);
  };
  for (const auto& [from, to] : {std::pair("pack.pos", "pack_fuse.a"), std::pair("pack_fuse.b", "main.a"),
                                 std::pair("main.b", "drive.bat_pos"), std::pair("pack.neg", "drive.bat_neg")})
    wire(from, to, "35 mm2");
  for (const auto& [from, to] : {std::pair("main.a", "pre_relay.a"),
                                 std::pair("pre_relay.b", "pre_res.a"),
                                 std::pair("pre_res.b", "main.b"),
                                 std::pair("bat.neg", "frame.main"),
                                 std::pair("bat.pos", "bus"),
                                 std::pair("bus", "ctl_fuse.a"),
                                 std::pair("ctl_fuse.b", "key.a"),
                                 std::pair("key.b", "kill.a"),
                                 std::pair("kill.b", "keyed"),
                                 std::pair("keyed", "drive.key"),
                                 std::pair("keyed", "main.coil_a"),
                                 std::pair("main.coil_b", "drive.coil_drive"),
                                 std::pair("keyed", "pre_relay.coil_a"),
                                 std::pair("pre_relay.coil_b", "frame.main"),
                                 std::pair("keyed", "hand.break_a"),
                                 std::pair("hand.break_b", "foot.break_a"),
                                 std::pair("foot.break_b", "drive.permit"),
                                 std::pair("ctl_fuse.b", "hand.make_a"),
                                 std::pair("ctl_fuse.b", "foot.make_a"),
                                 std::pair("hand.make_b", "drive.brake"),
                                 std::pair("foot.make_b", "drive.brake"),
                                 std::pair("drive.io_neg", "frame.main"),
                                 std::pair("drive.throttle_supply", "grip.supply"),
                                 std::pair("drive.throttle_signal", "grip.signal"),
                                 std::pair("drive.throttle_return", "grip.return")})
    wire(from, to);
  for (int s = 0; s < switches; ++s) {
    parts += fmt::format(
        "  f{0}: {{is: fuse, rated: 10 A, volts: 32 V, breaks: 1 kA, curve: blade}}\n"
        "  s{0}: {{is: switch, positions: [off, on], carries: 10 A, volts: 16 V}}\n  j{0}: {{is: splice}}\n",
        s);
    wire("bus", fmt::format("f{}.a", s), "2.5 mm2");
    if (s % 2 == 0) {
      wire(fmt::format("f{}.b", s), fmt::format("s{}.a", s));
      wire(fmt::format("s{}.b", s), fmt::format("j{}", s));
    } else {
      parts +=
          fmt::format("  k{}: {{is: relay, carries: 10 A, volts: 16 V, coil: 12 V 0.1 A, suppression: diode}}\n", s);
      wire(fmt::format("f{}.b", s), fmt::format("s{}.a", s));
      wire(fmt::format("s{}.b", s), fmt::format("k{}.coil_a", s));
      wire(fmt::format("k{}.coil_b", s), fmt::format("frame.g{}", s));
      wire(fmt::format("f{}.b", s), fmt::format("k{}.a", s));
      wire(fmt::format("k{}.b", s), fmt::format("j{}", s));
    }
    for (int l = 0; l < lamps; ++l) {
      parts += fmt::format("  l{}_{}: {{is: led-lamp, watts: 2 W, volts: 12 V, works: 9 V to 16 V}}\n", s, l);
      wire(fmt::format("j{}", s), fmt::format("l{}_{}.pos", s, l));
      wire(fmt::format("l{}_{}.neg", s, l), fmt::format("frame.g{}", s));
    }
  }
  return fmt::format("loom: 1\nvehicle: {{name: Switched}}\nconditions: {{ambient: 40 degC}}\nparts:\n{}wires:\n{}",
                     parts, wires);
}

}  // namespace loomproof
