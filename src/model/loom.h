// The whole description of one vehicle's wiring, names resolved, with a place for everything the user wrote.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "model/element.h"
#include "model/index.h"
#include "model/kind.h"
#include "model/place.h"
#include "units/parse.h"
#include "units/quantity.h"

namespace loomproof {

/// One row of a user's time-current curve: multiple of rated current, fastest and slowest opening in seconds.
struct CurveRow {
  double multiple = 0;
  double fastest_s = 0;
  double slowest_s = 0;
};

/// One plain attribute value of a part (see Form for the names that a written attribute sets).
struct Scalar {
  std::variant<Magnitude, std::string, bool, std::vector<std::string>, std::vector<CurveRow>> value;
  Place at;              // of the value in the file; nowhere when assumed
  bool assumed = false;  // taken by the tool because the user wrote nothing
};

struct Part {
  std::string name;
  std::string kind;
  Place at;  // of the part's name
  std::map<std::string, Scalar, std::less<>> attributes;
  std::vector<std::string> positions;  // of an operated part; first is at rest; empty = not operated
  std::vector<TerminalIndex> terminals;

  const Scalar* find(std::string_view attribute) const;
  /// The number of an attribute in base units, if it is given or assumed.
  std::optional<double> number(std::string_view attribute) const;
  std::optional<std::string> text(std::string_view attribute) const;
  std::optional<bool> flag(std::string_view attribute) const;
};

struct Terminal {
  std::string name;  // without the part's name
  PartIndex part;
  bool optional = false;
  bool inside = false;
};

/// A value of a wire or bundle with its place; empty optional outside = not written.
template <class T>
struct Placed {
  T value;
  Place at;
  std::string written;
};

struct Wire {
  std::string name;
  Place at;
  TerminalIndex from;
  TerminalIndex to;
  Place from_at;
  Place to_at;
  std::optional<Placed<SquareMillimetre>> size;
  std::optional<Placed<Metre>> length;
  std::optional<Placed<std::string>> insulation;
  std::optional<Placed<std::string>> colour;  // IEC 60757 letter code
  std::optional<Placed<Volt>> volts;          // rated voltage of the cable, where the user gives it
  bool sheathed = false;                      // runs in a sheath, sleeve or enclosure all the way
  std::vector<BundleIndex> bundles;           // in the order of its run
};

struct Bundle {
  std::string name;
  Place at;
  std::optional<Placed<Celsius>> ambient;
  std::optional<Placed<std::string>> sleeve;  // none, braided, corrugated, taped
};

/// `drive.battery: 120 A` of a duty point: a named current of one part.
struct ChannelCurrent {
  PartIndex part;
  std::string channel;
  Ampere amps;
  Place at;
};

struct DutyPoint {
  std::string name;
  Place at;
  std::vector<ChannelCurrent> currents;
  std::optional<Second> lasts;
  std::vector<std::pair<PartIndex, int>> with;  // part -> position index, as the user fixed it
};

struct Ride {
  std::string name;
  Place at;
  std::vector<DutyIndex> points;
};

/// A requirement that the user adds: in every situation that matches `when`, never (or always) `what`.
struct Must {
  std::string name;
  Place at;
  std::vector<std::pair<PartIndex, int>> when;
  bool never = true;
  /// An output such as drive.torque (`output`), or a terminal that must not be live (`live`).
  std::optional<std::pair<PartIndex, std::string>> output;
  std::optional<TerminalIndex> live;
};

/// A finding that the user sets aside, with a written reason; shown in every report.
struct Waiver {
  std::string rule;     // slug, or the name of a derived requirement
  std::string subject;  // empty = all subjects of the rule
  std::string reason;
  Place at;
};

struct Loom {
  std::string file;  // as named on the command line
  std::vector<std::string> lines;
  std::string vehicle;
  Place vehicle_at{1, 1};  // of its name; the file's beginning when it has none
  std::optional<Placed<Celsius>> ambient;
  std::optional<Placed<Celsius>> coldest;

  std::map<std::string, Kind, std::less<>> kinds;  // those in use, catalogue and own
  std::vector<Part> parts;
  std::vector<Terminal> terminals;
  std::vector<Wire> wires;
  std::vector<Bundle> bundles;
  std::vector<DutyPoint> duty;
  std::vector<Ride> rides;
  std::vector<Must> musts;
  std::vector<Waiver> waivers;
  Elements elements;  // what the parts are made of, filled by instantiate()

  const Part& part(PartIndex i) const { return parts[i.value]; }
  const Terminal& terminal(TerminalIndex i) const { return terminals[i.value]; }
  const Wire& wire(WireIndex i) const { return wires[i.value]; }
  const Kind& kind_of(const Part& p) const { return kinds.find(p.kind)->second; }
  /// `part.terminal` as the user writes it.
  std::string title(TerminalIndex) const;
  std::optional<PartIndex> find_part(std::string_view name) const;
  std::optional<TerminalIndex> find_terminal(std::string_view dotted) const;
};

/// Fills `loom.elements` from the kinds' primitives; terminals that a kind holds inside are added on the way.
/// @return sentences for primitives that do not make sense (only a kind of the user's own can cause any)
struct InstantiateFault {
  Place at;
  std::string what;
};
std::vector<InstantiateFault> instantiate(Loom& loom);

}  // namespace loomproof
