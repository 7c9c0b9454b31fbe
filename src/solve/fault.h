// Every single fault of a loom: what can break, touch, stick or come loose, each a small edit of the circuit.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "solve/circuit.h"

namespace loomproof {

enum class FaultType : std::uint8_t {
  wire_open,
  wire_on_frame,  // chafed through, touching the frame at its `to` end
  pins_bridged,   // two neighbouring pins of a connector
  connector_unmated,
  switch_stuck,  // its handle, in one position, whatever it is told
  contact_welded,
  contact_open,  // never closes
  fuse_open,
  coil_open,
  lamp_out,     // any load that shows that it is on
  ground_lost,  // one stud of the frame: its wires stay joined to one another and leave the frame
  supply_lost,  // the supply that a controller gives a sensor
  converter_dead,
};

struct Fault {
  FaultType type = FaultType::wire_open;
  std::size_t index = 0;  // wire, part, contact, fuse, coil, load, terminal (of the stud), source or converter
  std::size_t other = 0;  // the second contact of two bridged pins
  int position = 0;       // of a stuck switch
};

/// All of them, in the order of the types and then of the file. Left out, since they leave nothing to be judged: the
/// grip of a throttle held open by hand, a plug that is not pulled, a charger that does not know that it is plugged in
/// (its link contact does stick).
std::vector<Fault> single_faults(const Circuit&);

/// `open`, `on the frame`, `stuck in pressed`: what has happened to the subject.
std::string what_happened(const Loom&, const Fault&);

/// Name of the thing that fails, as the user wrote it: `B5`, `lever`, `key.first`, `frame.rear`.
std::string name_of(const Loom&, const Fault&);

/// The part's name where it is its only load, else `rear.brake_filament`.
std::string title_of(const Loom&, const Load&);

/// "'B5' open"
std::string describe(const Loom&, const Fault&);

std::string_view name_of(FaultType);

/// The part in which it lies; none for wires.
std::optional<PartIndex> part_of(const Loom&, const Fault&);
std::optional<WireIndex> wire_of(const Fault&);
Place place_of(const Loom&, const Fault&);

}  // namespace loomproof
