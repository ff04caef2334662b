-- Biological indicators by site and month of reading: tests, growth, controls without growth.
select site, extract(year from read_local) as year, extract(month from read_local) as month,
       sum(case when role = 'test' then 1 else 0 end) as n_tests,
       sum(case when role = 'test' and result = 'growth' then 1 else 0 end) as n_growth,
       sum(case when role = 'control' then 1 else 0 end) as n_controls,
       sum(case when role = 'control' and result = 'no growth' then 1 else 0 end) as n_controls_without_growth
from indicators
where kind = 'bi' and result is not null and not superseded
group by site, extract(year from read_local), extract(month from read_local)
order by site, year, month
