"""When a piece is to be back, what was paid for one that a gallery sold, and how its share stands in the year's figures."""

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import projects.models.fields
import projects.models.studio
from decimal import Decimal
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('projects', '0030_design_family'),
    ]

    operations = [
        migrations.AddField(
            model_name='piecerecord',
            name='due_back',
            field=models.DateField(blank=True, editable=False, null=True),
        ),
        migrations.AddIndex(
            model_name='piecerecord',
            index=models.Index(condition=models.Q(('due_back__isnull', False)), fields=['studio', 'due_back'], name='record_by_due_back'),
        ),
        migrations.AddField(
            model_name='place',
            name='due_back',
            field=models.DateField(blank=True, help_text='Of what is on consignment or lent.', null=True, verbose_name='to be back by'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.CheckConstraint(condition=models.Q(('due_back__isnull', True), models.Q(('due_back__gte', models.F('since')), ('kind__in', ('consigned', 'lent'))), _connector='OR'), name='place_due_back_fits', violation_error_message='Only what is on consignment or lent comes back, and not before the day it went.'),
        ),
        migrations.AddField(
            model_name='studio',
            name='gallery_share_as',
            field=models.CharField(choices=[('sale', 'left out: a sale is what comes to you'), ('expense', 'an expense: a sale is what the buyer paid')], default='sale', help_text='What you earn is the same either way. Which is right for your books, ask an adviser.', max_length=7, verbose_name="galleries' share is"),
        ),
        migrations.AddConstraint(
            model_name='studio',
            constraint=models.CheckConstraint(condition=models.Q(('gallery_share_as__in', ['sale', 'expense'])), name='studio_gallery_share_as_known', violation_error_message='The gallery share as must be one of: sale, expense.'),
        ),
        migrations.CreateModel(
            name='PlacePayment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('way', models.CharField(choices=[('in', 'received'), ('back', 'paid back')], default='in', max_length=4, verbose_name='which way')),
                ('amount', projects.models.fields.TidyDecimalField(decimal_places=4, max_digits=14, validators=[django.core.validators.MinValueValidator(Decimal('0.0001'), message='Must be at least %(limit_value)s.')], verbose_name='amount')),
                ('currency', models.CharField(editable=False, max_length=3, validators=[django.core.validators.RegexValidator('\\A[A-Z]{3}\\Z'), projects.models.studio.validate_currency])),
                ('paid_on', models.DateField(default=django.utils.timezone.localdate, verbose_name='on')),
                ('note', models.CharField(blank=True, help_text='Such as the number of their statement.', max_length=200)),
                ('at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ('member', models.ForeignKey(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member')),
                ('place', models.ForeignKey(editable=False, on_delete=django.db.models.deletion.CASCADE, related_name='payments', to='projects.place')),
                ('takes_back', models.OneToOneField(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='taken_back_by', to='projects.placepayment')),
            ],
            options={
                'ordering': ['paid_on', 'pk'],
            },
        ),
        migrations.AddConstraint(
            model_name='placepayment',
            constraint=models.CheckConstraint(condition=models.Q(('way__in', ['in', 'back'])), name='place_payment_way_known', violation_error_message='The way must be one of: in, back.'),
        ),
        migrations.AddConstraint(
            model_name='placepayment',
            constraint=models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='place_payment_above_nothing', violation_error_message='A payment is above nothing.'),
        ),
    ]
