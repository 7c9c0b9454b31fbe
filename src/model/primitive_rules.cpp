// The table of primitives; `instantiate` reads arguments by exactly these names.
#include "model/primitive_rules.h"

#include <algorithm>
#include <array>

namespace loomproof {
namespace {

using T = TerminalArgument;
using N = NumberArgument;
using W = WordArgument;
using D = Dimension;
using When = PrimitiveRules::When;

constexpr std::array ends_ab{T{"a"}, T{"b"}};
constexpr std::array poles{T{"pos"}, T{"neg"}};

constexpr std::array source_ends{T{"pos"}, T{"neg"}, T{"taps", false}};
constexpr std::array source_numbers{N{"full", D::voltage, true}, N{"nominal", D::voltage}, N{"empty", D::voltage},
                                    N{"ohm", D::resistance},     N{"limit", D::current},   N{"continuous", D::current},
                                    N{"peak", D::current},       N{"peak_s", D::time},     N{"charge", D::current},
                                    N{"capacity", D::charge}};
constexpr std::array source_words{W{"sinks", "true false"}, W{"zone", "signal low-voltage traction"}};

constexpr std::array converter_ends{T{"in_pos"}, T{"in_neg"}, T{"out_pos"}, T{"out_neg"}};
constexpr std::array converter_numbers{N{"low", D::voltage},   N{"high", D::voltage},     N{"volts", D::voltage, true},
                                       N{"limit", D::current}, N{"efficiency", D::ratio}, N{"idle", D::power}};

constexpr std::array resistance_numbers{N{"ohm", D::resistance, true}, N{"watts", D::power}, N{"pulse", D::energy}};

constexpr std::array divider_ends{T{"top"}, T{"tap"}, T{"bottom"}};
constexpr std::array divider_numbers{N{"ohm", D::resistance, true}};

constexpr std::array capacitance_numbers{N{"farad", D::capacitance, true}};

constexpr std::array diode_ends{T{"anode"}, T{"cathode"}};
constexpr std::array diode_numbers{N{"forward", D::voltage, true}, N{"ohm", D::resistance}, N{"carries", D::current},
                                   N{"blocks", D::voltage}};

constexpr std::array fuse_numbers{N{"rated", D::current, true}, N{"volts", D::voltage}, N{"breaks", D::current},
                                  N{"breaks_volts", D::voltage}, N{"ohm", D::resistance}};
constexpr std::array fuse_words{W{"curve", "blade bolt-in cartridge breaker electronic"}};

constexpr std::array contact_numbers{N{"ohm", D::resistance}, N{"carries", D::current},      N{"makes", D::current},
                                     N{"breaks", D::current}, N{"breaks_volts", D::voltage}, N{"volts", D::voltage},
                                     N{"peak", D::current},   N{"peak_s", D::time},          N{"after", D::time},
                                     N{"within", D::voltage}, N{"opens_after", D::time}};
constexpr std::array contact_words{W{"polarised", "true false"}};

constexpr std::array coil_numbers{N{"volts", D::voltage}, N{"ohm", D::resistance, true}, N{"pull_in", D::voltage},
                                  N{"drop_out", D::voltage}, N{"clamp", D::voltage}};
constexpr std::array coil_words{W{"suppression", "none diode zener clamp resistor inside"}};

// The dimension of a load's amount follows from its form; the reader judges it.
constexpr std::array load_numbers{N{"amount", D::ratio, true}, N{"rated", D::voltage}, N{"low", D::voltage},
                                  N{"high", D::voltage}, N{"inrush", D::ratio}};
constexpr std::array load_words{W{"form", "resistive power current", true}, W{"channel", ""}, W{"light", "true false"}};

constexpr std::array input_ends{T{"terminal"}, T{"reference"}, T{"pull_to", false}};
constexpr std::array input_numbers{N{"on_above", D::voltage},   N{"off_below", D::voltage}, N{"max", D::voltage},
                                   N{"zero", D::voltage},       N{"full", D::voltage},      N{"valid_low", D::voltage},
                                   N{"valid_high", D::voltage}, N{"pull", D::resistance}};
constexpr std::array input_words{W{"active", "high low"}, W{"analogue", "true false"}};

constexpr std::array lead_ends{T{"terminal"}};
constexpr std::array lead_words{W{"channel", "", true}, W{"end", "gives takes", true}};

constexpr std::array table{
    PrimitiveRules{"source", "voltage source with inner resistance and current limit", source_ends, source_numbers,
                   source_words, "", When::may},
    PrimitiveRules{"converter",
                   "DC-DC converter, constant power on its input",
                   converter_ends,
                   converter_numbers,
                   {},
                   "",
                   When::may},
    PrimitiveRules{"resistance", "a resistance", ends_ab, resistance_numbers, {}, "", When::none},
    PrimitiveRules{"divider",
                   "resistance with a tap whose share depends on the position",
                   divider_ends,
                   divider_numbers,
                   {},
                   "share",
                   When::none},
    PrimitiveRules{"capacitance", "a capacitance", ends_ab, capacitance_numbers, {}, "", When::none},
    PrimitiveRules{"diode", "conducts from anode to cathode", diode_ends, diode_numbers, {}, "", When::none},
    PrimitiveRules{"fuse", "opens by current and time", ends_ab, fuse_numbers, fuse_words, "", When::none},
    PrimitiveRules{"contact", "closed while its condition holds", ends_ab, contact_numbers, contact_words, "",
                   When::must},
    PrimitiveRules{"coil", "pulls in and drops out by its voltage", ends_ab, coil_numbers, coil_words, "", When::none},
    PrimitiveRules{"load", "resistive, constant-power or constant-current consumer", poles, load_numbers, load_words,
                   "", When::none},
    PrimitiveRules{"input", "reads a voltage: digital, or analogue with a valid window", input_ends, input_numbers,
                   input_words, "", When::none},
    PrimitiveRules{
        "output", "a named condition that other conditions and requirements use", {}, {}, {}, "", When::must},
    PrimitiveRules{"lead",
                   "carries a duty channel's current outside the direct-current network",
                   lead_ends,
                   {},
                   lead_words,
                   "",
                   When::none},
};

}  // namespace

std::span<const PrimitiveRules> primitive_rules() {
  return table;
}

const PrimitiveRules* find_primitive_rules(std::string_view type) {
  const auto found = std::find_if(table.begin(), table.end(), [&](const PrimitiveRules& r) { return r.type == type; });
  return found == table.end() ? nullptr : &*found;
}

}  // namespace loomproof
