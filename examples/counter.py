"""A counter's question: may this car leave, and if not, why?"""

from pathlib import Path

from stemlore import check, read_job, rulebook

jobs = Path(__file__).parent / "jobs"
book = rulebook("DE", on="2026-11-25")

for path in sorted(jobs.glob("*.json")):
    report = check(read_job(path), book)
    print(f"{path.stem.replace('_', ' ')}: {'clean' if report.is_clean else 'not clean'}")
    for finding in report.failing:
        print(f"  {finding.gravity.meaning}: {finding.sentence(units=('bar',))}")
        print(f"    {finding.citation}")
    for reading in report.next_readings[:3]:
        print(f"  next: {reading} - {reading.how}")
