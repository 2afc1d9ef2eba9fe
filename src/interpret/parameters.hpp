#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <vector>

namespace restep::interpret {

/// The numbered and named parameters of a control, as far as the program tells them (NISTIR 6556, 3.2.1).
///
/// Only what is known can be read. A control keeps its parameters from one program to the next and writes
/// some of them itself (probe results, home positions, offsets), so a value that this program did not set is
/// not known here. `Unset::zero` takes the standard's delivery state instead: 0 for every parameter that the
/// control does not own.
class Parameters {
public:
  enum class Unset : std::uint8_t { unknown, zero };

  static constexpr int first = 1;
  static constexpr int last = 5399;                     ///< NISTIR 6556, 3.3.2.2
  static constexpr int active_system = 5220;            ///< number of the active work offset, 1 at the start
  static constexpr int first_machine_owned = 5061;      ///< probe results, home positions, offsets ...
  static constexpr int probe_results[2] = {5061, 5070}; ///< first and last; 5067 to 5070: common practice
  static constexpr int first_of_system[9] = {5221, 5241, 5261, 5281, 5301, 5321, 5341, 5361, 5381};

  explicit Parameters(Unset unset = Unset::unknown);

  /// The value, or nothing when it is not known.
  std::optional<double> get(int index) const;
  std::optional<double> get(std::string_view name) const;

  /// `index` may lie above `last`: the numbers where controls show their own state.
  void set(int index, double value);
  void set(std::string_view name, double value);

  /// The control has written this parameter itself (a probe move): its value is no longer known.
  void forget(int index);
  void forget(std::string_view name);
  /// A refused block would have set this parameter: forgotten, and what follows from that is not reported.
  void lose(std::string const& parameter);
  bool is_lost(std::string const& parameter) const { return lost_.contains(parameter); }
  /// What a probe move writes (NISTIR 6556, 3.5.9.1).
  void forget_probe_results();
  /// A program that is not here has run: it may have set every one of them.
  void forget_all();

  /// Begins a call that has its own #1 to #last_local, none of them known, and its own named parameters but
  /// for those that begin with "_".
  void enter(int last_local);
  /// Ends the call that began last: the caller's own values are in force again.
  void leave();

  /// Counts the settings that outlive the call in progress.
  std::uint64_t lasting_settings() const { return lasting_settings_; }

private:
  struct Scope {
    int last_local = 0;
    std::unordered_map<int, std::optional<double>> numbered;
    std::unordered_map<std::string, double> named;
  };
  Unset unset_;
  std::unordered_map<int, std::optional<double>> numbered_;
  std::unordered_map<std::string, double> named_;
  std::uint64_t lasting_settings_ = 0;
  std::unordered_set<std::string> lost_; ///< by number or name
  std::vector<Scope> callers_;           ///< what the calls in progress hide

  void clear_locals(int last_local);
};

} // namespace restep::interpret
