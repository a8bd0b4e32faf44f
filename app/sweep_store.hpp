/// \file
/// \brief The folder of a sweep: whole cases by the hash of their input, whatever
/// happens.
///
///     cases/<id>/    finished: result.h5, summary.json, scenario.yaml, log.txt, pictures
///     failed/<id>/   scenario.yaml, log.txt, failure.txt (code or signal, then the
///                    message)
///     work/<id>/     being run, or left by a process that was killed
///     damaged/<id>/  was finished, and is no longer whole
///     lock           one byte of it locked for each case that is being run
///
/// Every folder comes to its place by one rename.
///
/// The locks are open file description locks (fcntl, F_OFD_SETLK): advisory, taken off by
/// the kernel with the last process that has the descriptor. The child that runs a case
/// inherits its lock, so that it stays locked if the sweep above it is killed. On a
/// network file system they reach other machines as byte-range locks do: NFS version 4 as
/// it is, version 3 with a lock service on both sides and no `nolock` or `local_lock`.

#pragma once

#include <filesystem>
#include <optional>
#include <set>
#include <string>
#include <utility>

#include "postproc/summary_values.hpp"

namespace torsowave::app {

/// The right to run one case, until it is destroyed.
class CaseLock {
public:
  /// \param descriptor  open, owned from here on
  explicit CaseLock(int descriptor) noexcept : descriptor_(descriptor) {}
  ~CaseLock();
  CaseLock(CaseLock&& other) noexcept;
  CaseLock& operator=(CaseLock&& other) noexcept;
  CaseLock(const CaseLock&) = delete;
  CaseLock& operator=(const CaseLock&) = delete;

  /// For a child process to inherit.
  [[nodiscard]] int descriptor() const noexcept { return descriptor_; }

private:
  int descriptor_;
};

/// Why a case has no result.
struct CaseFailure {
  int code = 0;         ///< exit code; 0 where a signal ended the process
  int signal = 0;       ///< that ended the process
  std::string message;  ///< its errors, one a line

  /// Whether the machine was at fault, not the scenario: another try may succeed.
  [[nodiscard]] bool may_pass() const noexcept { return code == 3 || signal != 0; }

  /// For tables: one line.
  [[nodiscard]] std::string line() const;
};

class SweepStore {
public:
  explicit SweepStore(std::filesystem::path folder) : folder_(std::move(folder)) {}

  /// Creates the folders.
  /// \throws postproc::WriteError
  void create() const;

  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }
  [[nodiscard]] std::filesystem::path finished(const std::string& id) const;
  [[nodiscard]] std::filesystem::path work(const std::string& id) const;
  /// Where the run of a case writes, inside work().
  [[nodiscard]] std::filesystem::path work_result(const std::string& id) const;

  [[nodiscard]] bool is_finished(const std::string& id) const;
  [[nodiscard]] std::optional<CaseFailure> failure(const std::string& id) const;

  /// Empty where another process runs the case.
  /// \throws postproc::WriteError  The file system gives no locks.
  [[nodiscard]] std::optional<CaseLock> try_lock(const std::string& id) const;

  /// Makes work() ready for a run; what a killed run left there is gone, except for a
  /// checkpoint. \throws postproc::WriteError
  void prepare(const std::string& id, const std::string& scenario) const;

  /// Whether a run of this case left something to go on from.
  [[nodiscard]] bool has_checkpoint(const std::string& id) const;
  void forget_checkpoint(const std::string& id) const;

  /// Whether work_result() holds a whole result of this scenario.
  [[nodiscard]] bool has_result(const std::string& id, const std::string& scenario) const;

  /// work_result() becomes finished().
  /// \throws postproc::WriteError
  void accept(const std::string& id) const;

  /// work() becomes the record of a failure.
  /// \throws postproc::WriteError
  void record(const std::string& id, const CaseFailure& failure) const;

  void forget_failure(const std::string& id) const;

  /// Sets a finished folder that is not whole aside. \return  Where it is now.
  /// \throws postproc::WriteError
  [[nodiscard]] std::filesystem::path set_aside(const std::string& id) const;

  /// The numbers of a finished case.
  /// \param scenario  its text
  /// \throws postproc::SummaryError  The folder is not whole, or of another scenario.
  [[nodiscard]] postproc::SummaryValues values(const std::string& id,
                                               const std::string& scenario) const;

  /// Removes what killed runs of cases outside `ids`, or of finished ones, left in
  /// work/, unless a checkpoint is there.
  void clean(const std::set<std::string>& ids) const;

private:
  std::filesystem::path folder_;
};

}  // namespace torsowave::app
