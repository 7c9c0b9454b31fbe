// Runs ngspice on a deck and reads back node voltages: the outside judge of every circuit kernel.
//
// An absent ngspice, a deck that it refuses or a result that cannot be read throws, so the test fails; nothing is
// skipped.
#pragma once

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

extern char** environ;

namespace spice {

/// A transient: `columns[k][i]` is the k-th asked vector at `time_s[i]`.
struct Transient {
  std::vector<double> time_s;
  std::vector<std::vector<double>> columns;

  /// The k-th vector at `time`, straight between points.
  double at(double time, std::size_t k = 0) const {
    const auto above = std::lower_bound(time_s.begin(), time_s.end(), time);
    const auto i = static_cast<std::size_t>(above - time_s.begin());
    if (i == 0) return columns[k].front();
    if (above == time_s.end()) return columns[k].back();
    const double share = (time - time_s[i - 1]) / (time_s[i] - time_s[i - 1]);
    return columns[k][i - 1] + share * (columns[k][i] - columns[k][i - 1]);
  }
};

namespace detail {

/// A folder of its own that goes with the object.
struct ScratchFolder {
  std::filesystem::path path;
  ScratchFolder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "loomproof-spice-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("spice: no temporary folder");
    path = pattern;
  }
  ~ScratchFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;
};

inline std::string text_of(const std::filesystem::path& path) {
  std::ifstream file(path);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

/// `ngspice -b deck.cir` in `folder`, without a shell. Its results go to log.txt there and its complaints to
/// complaints.txt: in one file a complaint can land in the middle of a number.
inline void run(const std::filesystem::path& folder, const std::string& deck) {
  const std::string deck_path = (folder / "deck.cir").string(), log_path = (folder / "log.txt").string();
  const std::string complaints_path = (folder / "complaints.txt").string();
  std::ofstream(deck_path) << deck;
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&actions, 1, log_path.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  posix_spawn_file_actions_addopen(&actions, 2, complaints_path.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  std::string program = "ngspice", batch = "-b", deck_argument = deck_path;
  char* arguments[] = {program.data(), batch.data(), deck_argument.data(), nullptr};
  pid_t child = 0;
  const int refused = posix_spawnp(&child, "ngspice", &actions, nullptr, arguments, environ);
  posix_spawn_file_actions_destroy(&actions);
  if (refused != 0) throw std::runtime_error("spice: ngspice is not on PATH (Debian package ngspice)");
  int status = 0;
  waitpid(child, &status, 0);
  if (!WIFEXITED(status) || WEXITSTATUS(status) == 127)
    throw std::runtime_error("spice: ngspice did not run\n" + text_of(complaints_path));
}

/// Rows of numbers as wrdata writes them with one scale: scale, then each vector.
inline std::vector<std::vector<double>> rows_of(const std::filesystem::path& folder, std::size_t vectors) {
  std::ifstream file(folder / "out.txt");
  std::vector<std::vector<double>> rows;
  for (std::string line; std::getline(file, line);) {
    std::istringstream words(line);
    std::vector<double> row;
    for (std::string word; words >> word;) row.push_back(std::strtod(word.c_str(), nullptr));
    if (row.size() == vectors + 1) rows.push_back(row);
  }
  if (rows.empty()) throw std::runtime_error("spice: no result\n" + text_of(folder / "complaints.txt"));
  return rows;
}

inline std::string deck_of(const std::string& netlist, const std::string& analysis,
                           const std::vector<std::string>& vectors, const std::filesystem::path& out) {
  std::string deck = "* loomproof check\n" + netlist + "\n.control\nset wr_singlescale\nset numdgt=12\n" + analysis;
  deck += "\nwrdata " + out.string();
  for (const std::string& vector : vectors) deck += " " + vector;
  return deck + "\n.endc\n.end\n";
}

}  // namespace detail

/// DC operating point of `netlist` (element and model lines, no title, no .end). `vectors` as ngspice names them, such
/// as "v(bus)" or "i(v1)" (the current into the positive terminal of source v1); the result is keyed by the same words.
inline std::map<std::string, double> operating_point(const std::string& netlist,
                                                     const std::vector<std::string>& vectors) {
  const detail::ScratchFolder scratch;
  // Each vector is printed by itself: wrdata has no scale to write an operating point against.
  std::string deck = "* loomproof check\n" + netlist + "\n.control\nset numdgt=12\nop\n";
  for (const std::string& vector : vectors) deck += "print " + vector + "\n";
  detail::run(scratch.path, deck + ".endc\n.end\n");
  std::map<std::string, double> found;
  std::istringstream log(detail::text_of(scratch.path / "log.txt"));
  for (std::string line; std::getline(log, line);) {
    const std::size_t equals = line.find(" = ");
    if (equals == std::string::npos) continue;
    const std::string name = line.substr(0, equals);
    for (const std::string& vector : vectors)
      if (name == vector) found[vector] = std::strtod(line.c_str() + equals + 3, nullptr);
  }
  for (const std::string& vector : vectors)
    if (!found.contains(vector))
      throw std::runtime_error("spice: no value of " + vector + "\n" +
                               detail::text_of(scratch.path / "complaints.txt"));
  return found;
}

/// Transient of `netlist` from its initial conditions (`ic=` on capacitors is honoured: uic) to `until_s`, with steps
/// of at most `step_s`.
inline Transient transient(const std::string& netlist, double step_s, double until_s,
                           const std::vector<std::string>& vectors) {
  const detail::ScratchFolder scratch;
  std::ostringstream analysis;
  analysis << "tran " << step_s << " " << until_s << " 0 " << step_s << " uic";
  detail::run(scratch.path, detail::deck_of(netlist, analysis.str(), vectors, scratch.path / "out.txt"));
  Transient found;
  found.columns.resize(vectors.size());
  for (const auto& row : detail::rows_of(scratch.path, vectors.size())) {
    found.time_s.push_back(row[0]);
    for (std::size_t k = 0; k < vectors.size(); ++k) found.columns[k].push_back(row[k + 1]);
  }
  return found;
}

}  // namespace spice
