"""The client against the running service: its program is named by SASHWRIGHT_PROGRAM."""

import json
import os
import re
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "src"))

import sashwright_client as client_package
from sashwright_client import OPERATIONS, Client, Late, Problem, types

ROOT = Path(__file__).parents[3]
EXAMPLES = ROOT / "service" / "examples"


def example(name: str) -> types.Json:
    return json.loads((EXAMPLES / f"{name}.json").read_text())


class Service:
    """The service on a free port."""

    def __init__(self, *options: str) -> None:
        program = os.environ.get("SASHWRIGHT_PROGRAM", str(ROOT / "target" / "release" / "sashwright"))
        command = [program, "serve", "--listen", "127.0.0.1:0", *options]
        self.process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)
        assert self.process.stderr is not None
        for line in self.process.stderr:
            if found := re.search(r"http://127\.0\.0\.1:\d+", line):
                self.url = found[0]
                return
        raise AssertionError("the service did not start")

    def stop(self) -> None:
        self.process.terminate()
        self.process.communicate(timeout=30)


class AgainstTheService(unittest.TestCase):
    @classmethod
    def setUpClass(cls) -> None:
        cls.service = Service()
        cls.client = Client(cls.service.url)

    @classmethod
    def tearDownClass(cls) -> None:
        cls.service.stop()

    def test_every_operation_of_the_interface_is_called_and_no_other(self) -> None:
        paths = self.client.openapi()["paths"]
        told = {
            operation["operationId"]: (method.upper(), path)
            for path, methods in paths.items()
            for method, operation in methods.items()
        }
        self.assertEqual(told, OPERATIONS)

    def test_types_have_the_fields_of_their_schemas(self) -> None:
        schemas = self.client.openapi()["components"]["schemas"]
        names = ["Fault", "ObjectiveEntry", "ScenarioVerdict", "PlanCounts", "UnderwayPlan", "BatchLinks", "BatchStatus", "BatchResult", "BatchKit", "Health"]
        for name in names:
            schema, told = schemas[name], getattr(types, name)
            self.assertEqual(set(schema["properties"]), set(told.__annotations__), name)
            self.assertEqual(set(schema.get("required", [])), set(told.__required_keys__), name)

    def test_a_scenario_is_checked_planned_and_asked_about(self) -> None:
        scenario = example("scenario")
        self.assertTrue(self.client.check(scenario)["valid"])
        self.assertEqual(self.client.plan(scenario), example("plan"))
        self.assertIn("materials", self.client.plan(scenario, materials=True))
        self.assertEqual(self.client.compare(scenario), example("comparison"))
        self.assertEqual(self.client.explain(scenario), example("explanation"))
        self.assertEqual(self.client.fits(example("coping")), example("fits"))
        asked = example("replan-question")
        self.assertEqual(self.client.replan(asked["scenario"], asked["plan"], asked["progress"]), example("replan"))

    def test_what_is_faulty_is_a_problem_with_its_faults(self) -> None:
        scenario = example("scenario") | {"unit": "cubit"}
        with self.assertRaises(Problem) as caught:
            self.client.plan(scenario)
        problem = caught.exception
        self.assertEqual((problem.status, problem.name), (422, "faulty-scenario"))
        self.assertEqual(problem.faults[0]["pointer"], "/unit")
        self.assertIn("cubit", str(problem))
        self.assertIn("fault", self.client.about_problem(problem.name))

    def test_a_late_plan_is_fetched_from_its_place(self) -> None:
        scenario = json.loads((ROOT / "scenarios" / "lap-quilt.json").read_text())
        with self.assertRaises(Late) as caught:
            self.client.plan(scenario, wait=0)
        plan = self.client.plan_at(caught.exception.place, patience=60)
        self.assertEqual(plan["scenario"], scenario["name"])
        self.assertTrue(self.client.sheet(caught.exception.place, "application/pdf").startswith(b"%PDF"))

    def test_a_batch_is_heard_of_and_fetched(self) -> None:
        batch = self.client.make_batch(example("batch"), key="trial")
        self.assertEqual(self.client.make_batch(example("batch"), key="trial")["id"], batch["id"])
        heard = list(self.client.events(batch["id"]))
        self.assertEqual([event.id for event in heard if event.name == "result"], ["1", "2"])
        self.assertEqual((heard[-1].name, heard[-1].document["state"]), ("status", "finished"))
        self.assertEqual(self.client.wait(batch["id"])["state"], "finished")
        results = {result["number"]: result for result in self.client.results(batch["id"], plans=True)}
        self.assertEqual([results[number]["status"] for number in (1, 2)], ["optimal", "cannot_be_stitched"])
        self.assertEqual(results[1].get("document"), self.client.batch_plan(batch["id"], 1))
        self.assertEqual(self.client.plan(self.client.batch_scenario(batch["id"], 1)), results[1].get("document"))
        self.assertEqual([kit["plan"] for kit in self.client.kits(batch["id"])], [1, 1, 2])
        self.assertEqual(self.client.summary(batch["id"]), example("batch-summary"))
        self.assertIn(b"<svg", self.client.batch_sheet(batch["id"], 1))
        self.assertEqual(self.client.cancel(batch["id"])["state"], "finished")

    def test_the_service_tells_of_itself(self) -> None:
        self.assertEqual(self.client.health()["status"], "ok")
        self.assertTrue(self.client.is_live() and self.client.is_ready())
        self.assertIn("sashwright_requests_total", self.client.metrics())
        self.assertIn("<html", self.client.docs())
        nobody = Client("http://127.0.0.1:9", timeout=2)
        self.assertFalse(nobody.is_live())


class WithKeys(unittest.TestCase):
    def test_a_key_is_sent(self) -> None:
        program = os.environ.get("SASHWRIGHT_PROGRAM", str(ROOT / "target" / "release" / "sashwright"))
        made = subprocess.run([program, "key", "trial"], capture_output=True, text=True, check=True)
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "keys.json"
            file.write_text(json.dumps({"keys": [json.loads(made.stderr.splitlines()[-1])]}))
            service = Service("--keys", str(file))
            try:
                with self.assertRaises(Problem) as caught:
                    Client(service.url).plan(example("scenario"))
                self.assertEqual(caught.exception.name, "key-missing")
                plan = Client(service.url, key=made.stdout.strip()).plan(example("scenario"))
                self.assertEqual(plan, example("plan"))
            finally:
                service.stop()


class Events(unittest.TestCase):
    def test_events_are_read_line_by_line(self) -> None:
        """Comments, fields without a blank, and data in several lines: the examples of the standard, section 9.2.6."""
        lines = [b": a comment\n", b"\n", b"event: result\n", b"id:1\n", b"data: {\n", b'data: "a": 1}\n', b"\n", b"data: {}\n", b"\n"]
        heard = list(client_package.client.sse.read(lines))
        self.assertEqual([(event.name, event.id, event.document) for event in heard], [("result", "1", {"a": 1}), ("message", None, {})])


if __name__ == "__main__":
    unittest.main()
