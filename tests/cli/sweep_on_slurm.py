"""A sweep as a job array on a real Slurm, one task of it put back into the queue.

Controller, node and authentication run in a temporary folder, on ports of their own, as the
user of the test; nothing outside is read or changed. Debian: slurm-wlm, munge.
"""

import contextlib
import os
import pathlib
import re
import shutil
import signal
import socket
import subprocess
import sys
import time

import cli
import slices

CASES = 40
TASKS = 4
# About a third of a second each.
BASE = {
    "grid": "{cell: 2 mm, size: [160 mm, 150 mm], absorbing_cells: 8}",
    "duration": "12 ns",
    "materials": "{fit: {poles: 1, max_error: 5 %}}",
    "outputs": "{sectors: 8}",
}
CONFIGURATION = """ClusterName=test
SlurmctldHost={host}(127.0.0.1)
SlurmUser={user}
SlurmdUser={user}
AuthType=auth/munge
AuthInfo=socket={folder}/munge.socket
CredType=cred/munge
SlurmctldPort={controller_port}
SlurmdPort={node_port}
StateSaveLocation={folder}/state
SlurmdSpoolDir={folder}/spool
SlurmctldPidFile={folder}/slurmctld.pid
SlurmdPidFile={folder}/slurmd.pid
SlurmctldLogFile={folder}/slurmctld.log
SlurmdLogFile={folder}/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
SwitchType=switch/none
MpiDefault=none
ReturnToService=2
SchedulerParameters=batch_sched_delay=0,sched_interval=1,sched_min_interval=0
SlurmdParameters=config_overrides
KillWait=5
MailProg=/bin/true
NodeName={host} NodeAddr=127.0.0.1 CPUs={tasks} RealMemory=100000 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
"""


def free_ports(count):
    """Ports that nobody uses now."""
    sockets = [socket.socket() for _ in range(count)]
    for one in sockets:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in sockets]
    for one in sockets:
        one.close()
    return ports


def tool(name):
    """The path of a program; daemons are not on every user's PATH."""
    return shutil.which(name, path=os.environ.get("PATH", "") + ":/usr/sbin:/sbin")


def stop(pid_file):
    """Ends the daemon that wrote the file, and waits until it writes no more."""
    with contextlib.suppress(OSError, ValueError):
        pid = int(pid_file.read_text())
        os.kill(pid, signal.SIGTERM)
        for _ in range(200):
            os.kill(pid, 0)
            time.sleep(0.1)


class SlurmTest(slices.SliceTest):
    def setUp(self):
        super().setUp()
        self.cluster = self.folder / "cluster"
        for name in "state", "spool":
            (self.cluster / name).mkdir(parents=True)
        self.folder.chmod(0o755)
        (self.cluster / "munge.key").write_bytes(os.urandom(128))
        (self.cluster / "munge.key").chmod(0o400)
        self.daemon("munged", "--force", f"--key-file={self.cluster}/munge.key",
                    f"--socket={self.cluster}/munge.socket",
                    f"--pid-file={self.cluster}/munged.pid",
                    f"--log-file={self.cluster}/munged.log",
                    f"--seed-file={self.cluster}/munged.seed")
        controller, node = free_ports(2)
        user = subprocess.run(["id", "-un"], capture_output=True, text=True, check=True)
        configuration = self.cluster / "slurm.conf"
        configuration.write_text(CONFIGURATION.format(
            host=socket.gethostname().split(".")[0], user=user.stdout.strip(),
            folder=self.cluster, controller_port=controller, node_port=node, tasks=TASKS))
        os.environ["SLURM_CONF"] = str(configuration)
        self.daemon("slurmctld", "-c", "-f", configuration)
        self.daemon("slurmd", "-c", "-f", configuration)
        self.wait_for(lambda: "idle" in self.slurm("sinfo", "-h", "-o", "%T"), 60,
                      "the node does not come up")

    def daemon(self, name, *arguments):
        self.addCleanup(stop, self.cluster / f"{name}.pid")
        subprocess.run([tool(name), *map(str, arguments)], check=True, timeout=60,
                       capture_output=True)

    def slurm(self, *arguments):
        done = subprocess.run([str(word) for word in arguments], capture_output=True, text=True,
                              check=False, timeout=60)
        return done.stdout + done.stderr

    def wait_for(self, condition, seconds, problem):
        end = time.monotonic() + seconds
        while not condition():
            if time.monotonic() > end:
                self.fail(f"{problem}\n{self.slurm('squeue')}\n{self.daemon_logs()}")
            time.sleep(0.1)

    def daemon_logs(self):
        return "\n".join(path.read_text(errors="replace")[-4000:]
                         for path in self.cluster.glob("*.log"))

    def test_array_with_a_task_queued_again_ends_with_the_same_table(self):
        self.write(slices.scenario(**{**slices.SECTIONS, **BASE}), "base.yaml")
        sweep = self.write("base: base.yaml\nvary:\n  implant.position[0]: "
                           f"{{from: -20 mm, to: 20 mm, count: {CASES}}}\n", "sweep.yaml")
        reference = self.folder / "reference"
        self.succeeds("sweep", sweep, "-o", reference, "--quiet")

        out = self.folder / "out"
        self.succeeds("sweep", sweep, "-o", out, "--slurm", TASKS, "--quiet")
        submitted = self.slurm(out / "submit.sh")
        self.assertRegex(submitted, r"^Submitted batch job \d+\n$")
        # The array has the first number; its tasks take the next ones as they start, maybe
        # before the job for the table is there.
        array = min(map(int, self.slurm("squeue", "-h", "-o", "%F").split()))
        self.wait_for(lambda: len(list(out.glob("cases/*"))) >= CASES // 8, 120,
                      "no case is finished")
        done = {path: path.read_bytes() for path in out.glob("cases/*/summary.json")}
        # One task is put back by the administrator, one told to stop as before the limit.
        self.assertEqual(self.slurm("scontrol", "requeue", f"{array}_2"), "")
        self.assertEqual(self.slurm("scancel", "--batch", "--signal=TERM", f"{array}_3"), "")
        for task in f"{array}_2", f"{array}_3":
            self.wait_for(lambda task=task: "JobState=PENDING Reason=BeginTime" in self.slurm(
                "scontrol", "show", "job", task), 60, f"task {task} is not queued again")
            self.assertIn("Restarts=1", self.slurm("scontrol", "show", "job", task))
            # Slurm waits two minutes before a second start, so that the node has forgotten
            # the first (it refuses the credential of one that it has just ended); some
            # seconds do here.
            self.slurm("scontrol", "update", f"JobId={task}", "StartTime=now+8seconds")
        self.wait_for(lambda: not self.slurm("squeue", "-h").strip(), 400,
                      "the jobs do not end")
        self.assertEqual({path: path.read_bytes() for path in done}, done)
        logs = "\n".join(f"{path.name}\n{path.read_text()}" for path in out.glob("slurm-*.log"))
        for name in "table.csv", "table.h5":
            self.assertTrue((out / name).read_bytes() == (reference / name).read_bytes(),
                            f"{name} differs\n{logs}\n{self.daemon_logs()}")
        self.assertIn("40 cases: 40 done, 0 failed, 0 missing",
                      next(out.glob("slurm-table-*.log")).read_text())
        self.assertRegex((out / f"slurm-{array}_3.log").read_text(),
                         r"stopped by a signal: \d of 10 cases are done")


if __name__ == "__main__":
    if not all(map(tool, ("munged", "slurmctld", "slurmd", "sbatch"))):
        print("Slurm or munge is not installed: skipped")
        sys.exit(77)
    import unittest
    unittest.main()
